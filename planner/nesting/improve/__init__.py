"""Fewer beds, and what lies better on the same beds."""
