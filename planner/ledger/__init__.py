"""The workshop's ledger: facts in one SQLite file, appended and never changed."""
