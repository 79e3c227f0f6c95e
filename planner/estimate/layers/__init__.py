"""What is laid down, layer by layer."""
