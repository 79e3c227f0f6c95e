"""The search over the order of batches."""
