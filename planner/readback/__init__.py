"""Read-back: what the machine file of a bed says, held against the plan."""
