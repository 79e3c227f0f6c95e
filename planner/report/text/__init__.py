"""A plan on a terminal."""
