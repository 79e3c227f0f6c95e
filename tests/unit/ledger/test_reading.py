"""A ledger that is only read: the same facts as the store gives, without its library."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

import pytest

from planner.errors import RecordError
from planner.ledger.connecting import checked, connect, there
from planner.ledger.fact import BEGAN, DONE, TAKEN_BACK, WEIGHED, Fact
from planner.ledger.reading import COLUMNS, Reader, fact_of
from planner.ledger.schema import MIGRATIONS, OURS, SCHEMA
from planner.ledger.store import Ledger
from planner.ledger.tables import FACTS

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
ROW = (7, "u", "2026-12-01T12:00:00+00:00", "glider", "page", "done", "bed 1", None, "{}")


@pytest.fixture(name="path")
def _path(tmp_path: Path) -> Path:
    """A ledger of random facts of two airframes and of the workshop, some of them taken back."""
    path, random = tmp_path / "ledger.sqlite", Random(5)  # noqa: S311 - no secret
    with Ledger(path, writing=True) as ledger:
        for n in range(60):
            kind = random.choice((BEGAN, DONE, WEIGHED))
            airframe = random.choice(("glider", "other", ""))
            about = f"bed {random.randrange(9)}"
            (made,) = ledger.write(
                [Fact(kind, about, NOON + timedelta(minutes=n), f"u{n}", airframe, data={"grams": n})]
            )
            if random.random() < 0.3:
                ledger.write([Fact(TAKEN_BACK, about, NOON, f"b{n}", airframe, takes_back=made.uid)])
    return path


@pytest.mark.parametrize(
    "asked", [{}, {"kinds": (DONE, WEIGHED)}, {"airframe": "glider"}, {"airframe": "other", "after": 20}]
)
def test_it_gives_what_the_store_gives(path: Path, asked: dict[str, Any]) -> None:
    """Fact by fact, in the same order."""
    with Ledger(path) as store, Reader(path) as reader:
        told = list(reader.facts(**asked))
        assert told == list(store.facts(**asked))
        assert told
        assert reader.last() == store.last()
        assert reader.names(DONE, "glider") == store.names(DONE, "glider")
        assert reader.newest("glider", 4) == list(store.facts(airframe="glider"))[:-5:-1]


@pytest.mark.slow
def test_neither_library_nor_table_is_imported(path: Path) -> None:
    """It takes half a second; the columns are those of the store's table all the same."""
    words = f"""
import sys
from pathlib import Path
from planner.ledger.reading import Reader
with Reader(Path({str(path)!r})) as ledger:
    print(ledger.last() > 60, [m for m in sys.modules if m.startswith(("sqlalchemy", "numpy"))])
"""
    said = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "True []"
    assert COLUMNS.split(", ") == [column.name for column in FACTS.columns]
    assert len(MIGRATIONS) == SCHEMA


@pytest.mark.parametrize(
    ("at", "value"),
    [(2, "yesterday"), (2, "2026-12-01T12:00:00"), (5, "sung"), (8, "{"), (8, "[1]"), (6, "")],
)
def test_a_row_that_is_no_fact_is_named(at: int, value: str) -> None:
    """A ledger may come from anywhere: no traceback, whatever it holds."""
    assert fact_of(ROW, Path("x")).kind == DONE
    with pytest.raises(RecordError, match="fact 7 cannot be understood"):
        fact_of([*ROW[:at], value, *ROW[at + 1 :]], Path("x"))


def test_what_is_no_ledger_is_refused(tmp_path: Path, path: Path) -> None:
    """None at all, another database, one of before, one of later, one that is damaged."""
    with pytest.raises(RecordError, match="no ledger"):
        there(tmp_path / "none")
    with pytest.raises(RecordError, match="there is no ledger"):
        Reader(tmp_path / "none")
    for schema, words in ((1, "an older one"), (9, "schema 9"), (SCHEMA, "")):
        with closing(connect(path, writing=True)) as file:
            file.execute(f"PRAGMA user_version = {schema}")
            if not words:
                assert checked(file, path, SCHEMA, exact=True) == SCHEMA
                continue
        with pytest.raises(RecordError, match=words):
            Reader(path)
    other = tmp_path / "other.sqlite"
    with closing(sqlite3.connect(other)) as file, file:
        file.execute("CREATE TABLE fact (x)")
        file.execute(f"PRAGMA application_id = {OURS + 1}")
    with pytest.raises(RecordError, match="no ledger of a workshop"):
        Reader(other)
    (tmp_path / "junk").write_bytes(b"SQLite format 3\x00" + b"\xff" * 5000)
    with pytest.raises(RecordError, match="damaged"):
        Reader(tmp_path / "junk")


def test_a_schema_from_elsewhere_runs_no_code(path: Path) -> None:
    """Functions of the program are not called by what a file brings."""
    with closing(connect(path, writing=False)) as file:
        assert file.execute("PRAGMA trusted_schema").fetchone() == (0,)


def test_a_schema_that_is_no_text_is_told(path: Path) -> None:
    """A byte of the words by which its tables were made: SQLite's own complaint cannot be read then."""
    path.write_bytes(path.read_bytes().replace(b"CREATE TABLE ", b"CREATE TA\x99LE ", 1))
    with pytest.raises(RecordError, match="damaged or no ledger"):
        Reader(path)
    with pytest.raises(RecordError, match="damaged or no ledger"), Ledger(path) as ledger:
        list(ledger.facts())


@pytest.mark.parametrize("begun", ["nothing", "log written ahead"])
def test_a_ledger_whose_first_program_was_killed_holds_no_fact(tmp_path: Path, begun: str) -> None:
    """The file is there, its first schema is not: nothing was told yet, and the next fact goes in."""
    path = tmp_path / "ledger.sqlite"
    path.touch()
    if begun != "nothing":
        with closing(sqlite3.connect(path)) as connection:
            connection.execute("PRAGMA journal_mode = WAL")
        assert path.stat().st_size
    with Reader(path) as ledger:
        assert (list(ledger.facts()), ledger.last(), ledger.knows("x")) == ([], 0, False)
    with Ledger(path) as ledger:
        assert list(ledger.facts()) == []
    told = Fact(DONE, "bed 1", NOON, "1", "glider")
    with Ledger(path, writing=True) as ledger:
        ledger.write([told])
    with Reader(path) as ledger:
        assert [fact.about for fact in ledger.facts()] == ["bed 1"]


def test_what_a_killed_program_left_half_done_is_taken_back(tmp_path: Path) -> None:
    """With a journal beside it, a file cannot be read by who may only read."""
    path, lived = tmp_path / "ledger.sqlite", tmp_path / "lived.sqlite"
    with closing(sqlite3.connect(lived, isolation_level=None)) as connection:
        connection.execute("PRAGMA cache_size = 1")
        connection.execute("CREATE TABLE before (words TEXT)")
        connection.execute("DROP TABLE before")
        connection.execute("BEGIN IMMEDIATE")
        connection.execute("CREATE TABLE fact (words TEXT)")
        connection.executemany("INSERT INTO fact VALUES (?)", [("x" * 4000,)] * 50)  # more than is held
        journal = lived.with_name("lived.sqlite-journal").read_bytes()
        path.write_bytes(lived.read_bytes())
    path.with_name("ledger.sqlite-journal").write_bytes(journal)
    with Reader(path) as ledger:
        assert list(ledger.facts()) == []
    assert not path.with_name("ledger.sqlite-journal").exists()
