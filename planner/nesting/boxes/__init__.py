"""Boxes on beds: the constructive answer."""
