"""What could be printed otherwise, and what that would buy."""
