"""A plan for other programs."""
