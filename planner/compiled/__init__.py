"""Compiled functions, and where what was compiled is kept: known by what it was made of, not by its file."""
