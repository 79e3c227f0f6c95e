"""Drawings to scale."""
