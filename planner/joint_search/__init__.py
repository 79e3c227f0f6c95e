"""The search over pieces, beds and sequence, on top of arrange and schedule."""
