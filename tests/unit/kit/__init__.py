"""Reading raw kits."""
