"""A connection to the file of a ledger, and whether it is one that this version knows."""

from __future__ import annotations

import os
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from urllib.parse import quote

from planner.errors import RecordError
from planner.ledger.refusals import PATIENCE_S, damaged, foreign, newer
from planner.ledger.schema import OURS

_HEADER_BYTES = 100  # Source: sqlite.org, "Database File Format" 1.3; of less some are taken for an empty one


def connect(path: Path, *, writing: bool, still: bool = False) -> sqlite3.Connection:
    """The file; where its folder may not be written, or it is ``still``, the reader takes it as it lies.

    A file may come from anywhere: its schema is not trusted (Source: sqlite.org, "Defense Against The Dark
    Arts").
    """
    if 0 < path.stat().st_size < _HEADER_BYTES:
        raise damaged(path)
    uri = f"file:{quote(str(path.resolve()))}"
    reads = "ro" if os.access(path.resolve().parent, os.W_OK) and not still else "ro&immutable=1"
    mode = "rw" if writing else reads
    connection = sqlite3.connect(
        f"{uri}?mode={mode}", uri=True, timeout=PATIENCE_S, isolation_level=None, check_same_thread=False
    )
    try:
        connection.execute("PRAGMA trusted_schema = OFF")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA synchronous = FULL")
    except BaseException:
        connection.close()
        raise
    return connection


def reading(path: Path, migrations: Sequence[Sequence[str]]) -> sqlite3.Connection:
    """A ledger to be read, as the program that wrote it last left it, be it that it was killed at that.

    What it had not finished is taken back; where even the schema was not, the ledger holds no fact.
    """
    _take_back(path)
    connection = connect(path, writing=False)
    try:
        if unfilled(connection):
            connection.close()
            return _without_facts(migrations)
        checked(connection, path, len(migrations), exact=True)
    except BaseException:
        connection.close()
        raise
    return connection


def unfilled(connection: sqlite3.Connection) -> bool:
    """Whether the file was begun and its first schema never written."""
    schema: int = connection.execute("PRAGMA user_version").fetchone()[0]
    return schema == 0 and connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0


def _take_back(path: Path) -> None:
    """Who may only read cannot roll back what a killed program has left half-done; who may write does so."""
    real = path.resolve()
    left = real.with_name(f"{real.name}-journal")
    if left.exists() and os.access(real.parent, os.W_OK) and os.access(real, os.W_OK):
        with closing(connect(path, writing=True)) as connection:
            unfilled(connection)


def _without_facts(migrations: Sequence[Sequence[str]]) -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:", isolation_level=None, check_same_thread=False)
    for statement in (one for step in migrations for one in step):
        connection.execute(statement)
    return connection


def there(path: Path) -> None:
    """Refuse to read a ledger that was never begun."""
    if not path.is_file():
        raise RecordError(
            "there is no ledger.",
            where=str(path),
            next_step='It is made by the first fact, as in: planner record "bed 1" done.',
        )


def checked(connection: sqlite3.Connection, path: Path, known: int, *, exact: bool = False) -> int:
    """The schema of a ledger that is one, and not too new."""
    schema: int = connection.execute("PRAGMA user_version").fetchone()[0]
    ours = connection.execute("PRAGMA application_id").fetchone()[0] == OURS
    empty = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0] == 0
    if not ours and not (empty and schema == 0):
        raise foreign(path)
    if schema > known:
        raise newer(path, schema, known)
    if exact and schema < known:
        raise RecordError(
            f"the ledger has schema {schema}, an older one than {known}.",
            where=str(path),
            next_step="The next fact that is written brings it up to date.",
        )
    return schema
