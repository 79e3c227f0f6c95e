"""Several bodies: how they lie to one another."""
