"""The ledger of the workshop."""
