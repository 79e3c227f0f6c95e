"""What takes a while, in processes of its own."""
