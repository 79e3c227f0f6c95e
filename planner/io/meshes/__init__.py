"""Readers of meshes."""
