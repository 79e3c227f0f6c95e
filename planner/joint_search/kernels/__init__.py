"""The compiled search over pieces, beds and order."""
