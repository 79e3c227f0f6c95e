"""Builds that are lived through, from the first plan to the last bed."""
