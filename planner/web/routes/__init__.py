"""What the page asks for."""
