"""What the page shows, as plain values."""
