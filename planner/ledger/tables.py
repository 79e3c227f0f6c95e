"""The tables of a ledger, and how a ledger of an older schema becomes one of this."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Column, ForeignKey, Index, Integer, MetaData, Table, Text

SCHEMA = 2
OURS = 0x41504C31  # application id in the head of the file

METADATA = MetaData()
FACTS = Table(
    "fact",
    METADATA,
    Column("seq", Integer, primary_key=True, autoincrement=True),
    Column("uid", Text, nullable=False, unique=True),
    Column("at", Text, nullable=False),
    Column("airframe", Text, nullable=False),
    Column("who", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("about", Text, nullable=False),
    Column("takes_back", Text, ForeignKey("fact.uid"), nullable=True),
    Column("data", Text, nullable=False),
    Index("fact_by_kind", "kind", "airframe"),
    Index("fact_by_taken_back", "takes_back", unique=True),
    sqlite_autoincrement=True,
)

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
