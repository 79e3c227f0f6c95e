"""What SQLite has to say, as sentences for people."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from planner.errors import InputError, OutputError, RecordError

PATIENCE_S = 10.0  # another writer is waited for that long


@contextmanager
def told_of(path: Path) -> Iterator[None]:
    """Errors of the store as errors for people that name the ledger."""
    try:
        yield
    except Exception as error:
        cause = getattr(error, "orig", None) or error  # the library of the store wraps what SQLite says
        if not isinstance(cause, (sqlite3.Error, OSError, UnicodeDecodeError)):
            raise
        raise _sentence(cause, path) from error


def newer(path: Path, schema: int, known: int) -> RecordError:
    """The refusal of a ledger that a later version has written."""
    return RecordError(
        f"the ledger has schema {schema}; this version knows {known}.",
        where=str(path),
        next_step="Use the newer planner that wrote it; nothing was changed.",
    )


def foreign(path: Path) -> RecordError:
    """The refusal of a database that is no ledger."""
    return RecordError(
        "this database is no ledger of a workshop.",
        where=str(path),
        next_step="Name another file with --ledger; nothing was changed.",
    )


def damaged(path: Path) -> RecordError:
    """The refusal of a file that is no whole database."""
    return RecordError(
        "the ledger is damaged or no ledger at all; nothing was changed.",
        where=str(path),
        next_step="Put back a copy of it (one lies beside it from before every change of schema).",
    )


def _sentence(error: BaseException | None, path: Path) -> InputError:
    where = str(path)
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    if isinstance(error, OSError):
        return OutputError(
            f"the ledger cannot be used ({error.strerror or error}).",
            where=where,
            next_step="Check folder and disk, or name another file with --ledger.",
        )
    if code == sqlite3.SQLITE_FULL:
        return OutputError(
            "the disk is full; the fact was not written.",
            where=where,
            next_step="Make room and say it again: what was written before is safe.",
        )
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return OutputError(
            f"another program has held the ledger for {PATIENCE_S:g} s; nothing was written.",
            where=where,
            next_step="Say it again when that one is done.",
        )
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM):
        return OutputError(
            "the ledger may only be read; nothing was written.",
            where=where,
            next_step="Allow writing to it and to its folder, or name another file with --ledger.",
        )
    if code == sqlite3.SQLITE_CANTOPEN:
        return OutputError(
            "the ledger cannot be opened.",
            where=where,
            next_step="Check that its folder is there and may be written, or name another with --ledger.",
        )
    broken = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT)
    if code in broken or isinstance(error, UnicodeDecodeError):  # words of a schema that are no text
        return damaged(path)
    return RecordError(f"the ledger refused: {error}.", where=where, next_step="Nothing was changed.")
