"""Printers, attendance and spools: when each batch runs, from what."""
