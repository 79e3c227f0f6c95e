"""Items, beds and distances, as values and as flat arrays."""
