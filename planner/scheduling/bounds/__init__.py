"""Proved lower bounds on the finish."""
