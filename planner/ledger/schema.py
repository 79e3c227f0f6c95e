"""The schema of a ledger as statements: no library is needed to know it."""

from __future__ import annotations

from collections.abc import Sequence

SCHEMA = 2
OURS = 0x41504C31  # application id in the head of the file

_FIRST = (
    "CREATE TABLE fact ("
    "seq INTEGER PRIMARY KEY AUTOINCREMENT, uid TEXT NOT NULL UNIQUE, at TEXT NOT NULL,"
    " airframe TEXT NOT NULL, who TEXT NOT NULL, kind TEXT NOT NULL, about TEXT NOT NULL,"
    " takes_back TEXT REFERENCES fact (uid), data TEXT NOT NULL)",
    "CREATE INDEX fact_by_kind ON fact (kind, airframe)",
)
_SECOND = (
    "CREATE UNIQUE INDEX fact_by_taken_back ON fact (takes_back)",
    "CREATE TRIGGER fact_never_changed BEFORE UPDATE ON fact"
    " BEGIN SELECT RAISE(ABORT, 'facts are never changed'); END",
    "CREATE TRIGGER fact_never_removed BEFORE DELETE ON fact"
    " BEGIN SELECT RAISE(ABORT, 'facts are never removed'); END",
)
MIGRATIONS: Sequence[Sequence[str]] = (_FIRST, _SECOND)
"""What leads from each schema to the next, the first from an empty file; forward only."""
