"""Flat regions: outlines, insets, unions, shadows."""
