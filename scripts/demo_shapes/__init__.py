"""Shapes of the invented survey glider: plain functions that return solid bodies, lengths in mm."""
