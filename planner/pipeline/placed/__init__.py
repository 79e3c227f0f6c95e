"""Meshes that are drawn where they sit in the airframe."""
