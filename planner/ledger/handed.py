"""A ledger as a file that is handed on: looked through when it comes, copied whole when it goes."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from planner.ledger.connecting import checked, connect
from planner.ledger.reading import COLUMNS, fact_of
from planner.ledger.refusals import told_of
from planner.ledger.schema import MIGRATIONS


def look_through(path: Path) -> int:
    """Read every fact of a file that came from elsewhere; nothing is made beside it.

    Returns
    -------
    facts : how many there are

    Raises
    ------
    RecordError
        for what is no ledger, damaged, of a newer schema, or holds what is no fact
    """
    with told_of(path), closing(connect(path, writing=False, still=True)) as file:
        if not checked(file, path, len(MIGRATIONS)):
            return 0
        rows = file.execute(f"SELECT {COLUMNS} FROM fact ORDER BY seq")  # noqa: S608 - own words
        return len([fact_of(row, path).seq for row in rows])


def copied(path: Path, target: Path) -> None:
    """A ledger as it is now, whole, in another file, while others may write to it."""
    with (
        told_of(path),
        closing(connect(path, writing=False)) as source,
        closing(sqlite3.connect(target)) as to,
    ):
        source.backup(to)
        to.execute("PRAGMA journal_mode = DELETE")  # one file, not two
