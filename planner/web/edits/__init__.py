"""Changes to the records."""
