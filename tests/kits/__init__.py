"""Random kits, workshops and jobs by seed; all of it is invented."""
