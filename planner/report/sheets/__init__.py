"""The sheets of the report."""
