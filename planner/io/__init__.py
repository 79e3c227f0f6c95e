"""Readers of meshes and records, writers of tables and bed files."""
