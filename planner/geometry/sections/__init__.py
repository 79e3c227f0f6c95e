"""Horizontal sections of a mesh."""
