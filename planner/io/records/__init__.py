"""Readers of TOML records and built-in tables."""
