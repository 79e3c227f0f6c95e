"""What a plan costs."""
