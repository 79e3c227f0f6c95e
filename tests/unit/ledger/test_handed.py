"""Ledgers that come from elsewhere and go elsewhere."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.errors import RecordError
from planner.ledger.connecting import connect
from planner.ledger.fact import DONE, Fact
from planner.ledger.handed import copied, look_through
from planner.ledger.opening import opened
from planner.ledger.schema import MIGRATIONS
from planner.ledger.store import Ledger

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)


@pytest.fixture(name="path")
def _path(tmp_path: Path) -> Path:
    """A ledger of three facts."""
    path = tmp_path / "in" / "ledger.sqlite"
    with Ledger(path, writing=True) as ledger:
        ledger.write([Fact(DONE, f"bed {n}", NOON, f"u{n}") for n in range(3)])
    return path


def test_every_fact_is_read_and_nothing_is_left_beside_it(path: Path) -> None:
    """An empty one and one of before will do, too."""
    assert look_through(path) == 3
    assert [file.name for file in path.parent.iterdir()] == [path.name]
    old = path.with_name("old.sqlite")
    opened(old, writing=True, migrations=MIGRATIONS[:1]).dispose()
    assert look_through(old) == 0
    (path.parent / "empty").touch()
    assert look_through(path.parent / "empty") == 0


def test_what_is_no_ledger_is_refused(path: Path) -> None:
    """Text, half a file, a newer schema, a row that is no fact, a view in place of the table."""
    junk = path.with_name("junk")
    junk.write_text("[[spool]]\n" * 300)
    with pytest.raises(RecordError, match="damaged or no ledger"):
        look_through(junk)
    junk.write_bytes(path.read_bytes()[:5000])
    with pytest.raises(RecordError):
        look_through(junk)
    with closing(connect(path, writing=True)) as file:
        file.execute("INSERT INTO fact SELECT 9, 'x', 'never', '', 'x', 'done', 'bed', NULL, '{}'")
    with pytest.raises(RecordError, match="fact 9 cannot be understood"):
        look_through(path)
    with closing(connect(path, writing=True)) as file:
        file.execute("DROP TABLE fact")
        file.execute("CREATE VIEW fact AS SELECT 1 AS seq")
    with pytest.raises(RecordError, match="the ledger refused"):
        look_through(path)
    with closing(connect(path, writing=True)) as file:
        file.execute("PRAGMA user_version = 99")
    with pytest.raises(RecordError, match="schema 99"):
        look_through(path)


def test_a_copy_is_whole_while_others_write(path: Path, tmp_path: Path) -> None:
    """What is still in the log ahead is in it; it is one file that can be opened and gone on with."""
    with Ledger(path, writing=True) as other:
        other.write([Fact(DONE, "bed 9", NOON, "u9")])
        copied(path, tmp_path / "copy.sqlite")
    assert look_through(tmp_path / "copy.sqlite") == 4
    with closing(sqlite3.connect(tmp_path / "copy.sqlite")) as file:
        assert file.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    with Ledger(tmp_path / "copy.sqlite", writing=True) as ledger:
        ledger.write([Fact(DONE, "bed 10", NOON, "u10")])
        assert ledger.last() == 5
