"""Overlapping outlines pulled apart."""
