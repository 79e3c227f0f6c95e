"""Seconds of beads, layers and beds."""
