"""The table of a ledger as the store asks for it."""

from __future__ import annotations

from sqlalchemy import Column, ForeignKey, Index, Integer, MetaData, Table, Text

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
