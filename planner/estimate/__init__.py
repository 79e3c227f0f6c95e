"""Mesh, recipe and filament in, deposit out: volumes, mass and seconds, layer by layer."""
