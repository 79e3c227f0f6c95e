"""Which way a part stands."""
