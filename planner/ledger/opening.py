"""Opening a ledger: made where there is none, brought to the schema of today, safe against a power cut."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.pool import StaticPool

from planner.ledger.connecting import checked, connect, reading, there
from planner.ledger.refusals import told_of
from planner.ledger.schema import MIGRATIONS, OURS

LEDGER_FILE = "ledger.sqlite"


def opened(path: Path, *, writing: bool, migrations: Sequence[Sequence[str]] = MIGRATIONS) -> Engine:
    """A ledger, ready to be used; one that is to be written is made where there is none.

    Facts of a program that was killed half-way are there whole or not at all: the log is written ahead, and
    every fact is on the disk (``synchronous=FULL``) before it counts as written.

    Parameters
    ----------
    migrations : what leads from each schema to the next, forward only; a copy is kept before each
    """
    with told_of(path):
        if writing:
            _made(path, migrations)
        else:
            there(path)
        connection = connect(path, writing=True) if writing else reading(path, migrations)
        engine = create_engine("sqlite://", creator=lambda: connection, poolclass=StaticPool)
        event.listen(
            engine, "begin", lambda conn: conn.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")
        )
        return engine


def _made(path: Path, migrations: Sequence[Sequence[str]]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    if not path.exists():
        path.touch(exist_ok=True)
    with closing(connect(path, writing=True)) as connection:
        if checked(connection, path, len(migrations)) < len(migrations):
            connection.execute("PRAGMA journal_mode = WAL")
            _migrated(connection, path, migrations)


def _migrated(connection: sqlite3.Connection, path: Path, migrations: Sequence[Sequence[str]]) -> None:
    """Each step is one transaction; a step that fails leaves the schema before it, and its copy."""
    connection.execute("BEGIN IMMEDIATE")
    schema = checked(connection, path, len(migrations))  # another writer may have been first
    try:
        if schema:
            _copied(path, schema)
        for number, step in enumerate(migrations[schema:], start=schema + 1):
            for statement in step:
                connection.execute(statement)
            connection.execute(f"PRAGMA user_version = {number}")
            connection.execute(f"PRAGMA application_id = {OURS}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise


def _copied(path: Path, schema: int) -> None:
    """The ledger as it is before a change of schema, whole, beside it."""
    kept = path.with_name(f"{path.name}.schema{schema}")
    part = kept.with_name(f"{kept.name}.part")
    with closing(connect(path, writing=False)) as source, closing(sqlite3.connect(part)) as target:
        source.backup(target)
    shutil.move(part, kept)
