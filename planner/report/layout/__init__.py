"""What sheets are made of, and how they are laid out."""
