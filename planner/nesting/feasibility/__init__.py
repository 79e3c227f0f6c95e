"""Whether pieces fit one bed."""
