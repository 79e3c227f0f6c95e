"""Facts are kept as they were written: once, whole, in order, and never changed."""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from planner.errors import InputError, OutputError, RecordError
from planner.ledger import connecting, refusals
from planner.ledger.fact import DONE, FAILED, SPOOL_ADDED, TAKEN_BACK, WEIGHED, Fact, uid_of
from planner.ledger.opening import opened
from planner.ledger.schema import MIGRATIONS, OURS, SCHEMA
from planner.ledger.store import Ledger
from planner.ledger.tables import METADATA

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)


def fact(kind: str = DONE, about: str = "bed 1", **rest: Any) -> Fact:
    """A fact that is about something."""
    rest.setdefault("uid", uid_of(kind, about, rest.get("takes_back"), rest.get("airframe")))
    return Fact(kind, about, NOON, **rest)


def back(taken: Fact) -> Fact:
    """The fact that takes another one back."""
    return fact(TAKEN_BACK, taken.about, takes_back=taken.uid)


@pytest.fixture(name="path")
def _path(tmp_path: Path) -> Path:
    return tmp_path / "ledger.sqlite"


def test_facts_come_back_as_they_were_written(path: Path) -> None:
    """Every field, in the order of writing; the place is the ledger's own."""
    told = [
        fact(FAILED, "bed 3", airframe="glider", data={"good": ["wing mid L"], "height_mm": 41.5}),
        fact(WEIGHED, "wing mid L", airframe="glider", who="page", data={"grams": 29.8}),
        fact(SPOOL_ADDED, "grün 1", data={"grams": 1000.0}),
    ]
    with Ledger(path, writing=True) as ledger:
        assert [one.seq for one in ledger.write(told)] == [1, 2, 3]
    with Ledger(path) as ledger:
        read = list(ledger.facts())
        assert ledger.last() == 3
    for was, now in zip(told, read, strict=True):
        assert (was.kind, was.about, was.at, was.uid) == (now.kind, now.about, now.at, now.uid)
        assert (was.airframe, was.who, dict(was.data)) == (now.airframe, now.who, dict(now.data))


def test_writing_twice_is_harmless(path: Path) -> None:
    """The same uid is written once; with other words it is refused, and nothing of that lot is kept."""
    with Ledger(path, writing=True) as ledger:
        assert len(ledger.write([fact(), fact()])) == 1
        assert ledger.write([fact()]) == ()
        with pytest.raises(RecordError, match="belongs to another fact"):
            ledger.write([fact(about="bed 2"), fact(about="bed 9", uid=fact().uid)])
        assert [one.about for one in ledger.facts()] == ["bed 1"]


def test_a_correction_takes_back(path: Path) -> None:
    """What was taken back counts no more and is still there; nothing is taken back twice."""
    first, second = fact(), fact(about="bed 2")
    with Ledger(path, writing=True) as ledger:
        ledger.write([first, second, back(first)])
        assert [one.about for one in ledger.facts()] == ["bed 2"]
        assert [one.kind for one in ledger.facts(everything=True)] == [DONE, DONE, TAKEN_BACK]
        assert ledger.times_taken_back(DONE, "bed 1", "") == 1
        assert ledger.times_taken_back(DONE, "bed 2", "") == 0
        again = Fact(TAKEN_BACK, "bed 1", NOON, uid_of("again"), takes_back=first.uid)
        with pytest.raises(RecordError, match="taken back already"):
            ledger.write([again])
        with pytest.raises(RecordError, match="not one that can be taken back"):
            ledger.write([Fact(TAKEN_BACK, "bed 7", NOON, uid_of("none"), takes_back="nobody")])
        with pytest.raises(RecordError, match="not one that can be taken back"):
            ledger.write([back(back(first))])


def test_facts_are_chosen_by_kind_airframe_and_place(path: Path) -> None:
    """Those of the workshop belong to every airframe."""
    told = [
        fact(airframe="glider"),
        fact(SPOOL_ADDED, "grey 1"),
        fact(about="bed 2", airframe="boat"),
        fact(WEIGHED, "hull", airframe="boat"),
    ]
    with Ledger(path, writing=True) as ledger:
        ledger.write(told)
        assert [one.about for one in ledger.facts(airframe="boat")] == ["grey 1", "bed 2", "hull"]
        assert [one.about for one in ledger.facts(kinds=(DONE,))] == ["bed 1", "bed 2"]
        assert [one.about for one in ledger.facts(after=2)] == ["bed 2", "hull"]


@pytest.mark.parametrize("statement", ["UPDATE fact SET about = 'x'", "DELETE FROM fact"])
def test_rows_can_neither_be_changed_nor_removed(path: Path, statement: str) -> None:
    """Not even by another program that opens the file."""
    with Ledger(path, writing=True) as ledger:
        ledger.write([fact()])
    with closing(sqlite3.connect(path)) as other, pytest.raises(sqlite3.IntegrityError, match="never"):
        other.execute(statement)
    with Ledger(path) as ledger:
        assert [one.about for one in ledger.facts()] == ["bed 1"]


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"kind": "blessed"}, "kind of a fact"),
        ({"about": ""}, "what it is about"),
        ({"uid": ""}, "uid"),
        ({"at": datetime(2026, 12, 1)}, "zone"),  # noqa: DTZ001
        ({"takes_back": "x"}, "takes one back"),
        ({"kind": TAKEN_BACK}, "takes one back"),
    ],
)
def test_a_fact_is_checked_when_it_is_made(wrong: dict[str, Any], words: str) -> None:
    """Kind, name, uid, zone, and what it takes back."""
    with pytest.raises(RecordError, match=words):
        Fact(**{"kind": DONE, "about": "bed 1", "at": NOON, "uid": "u", **wrong})


@pytest.mark.parametrize("data", [{"grams": float("nan")}, {"at": NOON}, {"long": "x" * 300_000}])
def test_data_that_cannot_be_kept_are_refused_and_nothing_is_written(
    path: Path, data: dict[str, Any]
) -> None:
    """No half a lot."""
    with Ledger(path, writing=True) as ledger:
        with pytest.raises(RecordError, match=r"cannot be kept|more than"):
            ledger.write([fact(about="bed 5"), fact(data=data)])
        assert list(ledger.facts()) == []


def test_the_file_is_safe_against_power_cuts(path: Path) -> None:
    """Written ahead, synchronous, foreign keys on; schema and kind of file stand in its head."""
    with Ledger(path, writing=True) as ledger, ledger._engine.connect() as connection:
        assert connection.execute(text("PRAGMA journal_mode")).scalar() == "wal"
        assert connection.execute(text("PRAGMA synchronous")).scalar() == 2
        assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1
        assert connection.execute(text("PRAGMA user_version")).scalar() == SCHEMA == len(MIGRATIONS)
        assert connection.execute(text("PRAGMA application_id")).scalar() == OURS


def test_the_tables_are_those_that_the_migrations_make(path: Path) -> None:
    """Columns and indexes as the code believes them to be."""
    opened(path, writing=True).dispose()
    table = METADATA.tables["fact"]
    with closing(sqlite3.connect(path)) as other:
        columns = other.execute("PRAGMA table_info(fact)").fetchall()
        indexes = {row[1] for row in other.execute("PRAGMA index_list(fact)").fetchall()}
    assert [(row[1], bool(row[3])) for row in columns if row[1] != "seq"] == [
        (column.name, not column.nullable) for column in table.columns if column.name != "seq"
    ]
    assert {index.name for index in table.indexes} <= indexes


def test_an_older_ledger_is_brought_forward_and_a_copy_is_kept(path: Path) -> None:
    """Its facts are all there, in the ledger and in the copy; a reader changes nothing and says so."""
    opened(path, writing=True, migrations=MIGRATIONS[:1]).dispose()
    with closing(sqlite3.connect(path)) as old, old:
        old.execute(
            "INSERT INTO fact (uid, at, airframe, who, kind, about, data)"
            " VALUES ('u', '2026-12-01T12:00:00+00:00', '', 'terminal', 'done', 'bed 1', '{}')"
        )
    with pytest.raises(RecordError, match="schema 1, an older one than 2"):
        Ledger(path)
    with Ledger(path, writing=True) as ledger:
        assert [one.about for one in ledger.facts()] == ["bed 1"]
    with closing(sqlite3.connect(path.with_name("ledger.sqlite.schema1"))) as kept:
        assert kept.execute("PRAGMA user_version").fetchone() == (1,)
        assert kept.execute("SELECT about FROM fact").fetchall() == [("bed 1",)]


def test_a_migration_that_fails_leaves_the_schema_before_it(path: Path) -> None:
    """All of it or nothing."""
    opened(path, writing=True).dispose()
    third = ("ALTER TABLE fact ADD COLUMN mood TEXT", "CREATE TABLE fact (again TEXT)")
    with pytest.raises(InputError):
        opened(path, writing=True, migrations=(*MIGRATIONS, third))
    with Ledger(path, writing=True) as ledger:
        ledger.write([fact()])
    with closing(sqlite3.connect(path)) as other:
        assert other.execute("PRAGMA user_version").fetchone() == (SCHEMA,)
        assert "mood" not in [row[1] for row in other.execute("PRAGMA table_info(fact)")]


def test_a_newer_ledger_is_left_alone(path: Path) -> None:
    """The sentence names both schemas."""
    opened(path, writing=True).dispose()
    with closing(sqlite3.connect(path)) as other:
        other.execute("PRAGMA user_version = 9")
    before = path.read_bytes()
    for writing in (True, False):
        with pytest.raises(RecordError, match="schema 9; this version knows 2"):
            Ledger(path, writing=writing)
    assert path.read_bytes() == before


def test_what_is_no_ledger_is_left_alone(path: Path) -> None:
    """Another database, any other file, a damaged one, a folder, none at all."""
    with closing(sqlite3.connect(path)) as other:
        other.execute("CREATE TABLE recipes (cake TEXT)")
    with pytest.raises(RecordError, match="no ledger of a workshop"):
        Ledger(path, writing=True)
    path.write_text("a shopping list, and long enough to be taken for a page of something" * 40)
    with pytest.raises(RecordError, match="damaged or no ledger"):
        Ledger(path, writing=True)
    assert path.read_text().startswith("a shopping list")
    path.unlink()
    with pytest.raises(RecordError, match="there is no ledger"):
        Ledger(path)
    path.mkdir()
    with pytest.raises(InputError):
        Ledger(path, writing=True)


def test_a_damaged_page_is_told(path: Path) -> None:
    """Not a traceback, wherever the damage comes to light."""
    with Ledger(path, writing=True) as ledger:
        ledger.write([fact(about=f"bed {n}", data={"note": "x" * 200}) for n in range(200)])
    with closing(sqlite3.connect(path)) as other:
        other.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    body = bytearray(path.read_bytes())
    body[4096:] = b"\xa5" * (len(body) - 4096)
    path.write_bytes(bytes(body))
    with pytest.raises(RecordError, match="damaged"), Ledger(path) as ledger:
        list(ledger.facts())


def test_a_full_disk_is_told_and_loses_nothing(path: Path) -> None:
    """What was written before is there; what did not fit is not, not even in part."""
    with Ledger(path, writing=True) as ledger:
        ledger.write([fact()])
        with ledger._engine.connect() as connection:
            pages = connection.execute(text("PRAGMA page_count")).scalar()
            connection.execute(text(f"PRAGMA max_page_count = {pages}"))
        with pytest.raises(OutputError, match="disk is full"):
            ledger.write([fact(about=f"bed {n}", data={"note": "x" * 9000}) for n in range(2, 40)])
    with Ledger(path) as ledger:
        assert [one.about for one in ledger.facts()] == ["bed 1"]


def test_a_ledger_that_may_only_be_read(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reading goes on, even where nothing may be made beside it; writing says why not."""
    with Ledger(path, writing=True) as ledger:
        ledger.write([fact()])
        with ledger._engine.connect() as connection:
            connection.execute(text("PRAGMA query_only = ON"))
        with pytest.raises(OutputError, match="may only be read"):
            ledger.write([fact(about="bed 2")])
    monkeypatch.setattr(connecting.os, "access", lambda *_: False)
    with Ledger(path) as ledger:
        assert [one.about for one in ledger.facts()] == ["bed 1"]
        with pytest.raises(OutputError, match="may only be read"):
            ledger.write([fact(about="bed 2")])


def test_a_locked_ledger_is_told(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After some patience."""
    monkeypatch.setattr(connecting, "PATIENCE_S", 0.05)
    opened(path, writing=True).dispose()
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with Ledger(path, writing=True) as ledger, pytest.raises(OutputError, match="another program"):
            ledger.write([fact()])
        other.execute("ROLLBACK")
        with Ledger(path, writing=True) as ledger:
            assert len(ledger.write([fact()])) == 1


def test_errors_of_the_disk_name_the_file(path: Path) -> None:
    """A folder that is not there and cannot be made."""
    path.write_text("")
    with pytest.raises(OutputError, match=r"ledger\.sqlite"):
        Ledger(path / "below", writing=True)
    with pytest.raises(OutputError, match="No space left"), refusals.told_of(path):
        raise OSError(28, "No space left on device")


def test_two_writers_at_once_lose_nothing(path: Path) -> None:
    """Each writes its own and a common lot: every fact is there once, in both orders of their own."""
    opened(path, writing=True).dispose()
    faults: list[BaseException] = []

    def work(name: str) -> None:
        try:
            for n in range(15):
                with Ledger(path, writing=True) as ledger:
                    ledger.write([fact(about=f"{name} {n}"), fact(about=f"common {n}")])
        except BaseException as error:
            faults.append(error)

    threads = [threading.Thread(target=work, args=(name,)) for name in ("one", "two")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    with Ledger(path) as ledger:
        told = [one.about for one in ledger.facts()]
    assert len(told) == len(set(told)) == 45
    for name in ("one", "two"):
        assert [about for about in told if about.startswith(name)] == [f"{name} {n}" for n in range(15)]


@pytest.mark.parametrize("left", [1, 99])
@pytest.mark.parametrize("writing", [False, True])
def test_a_ledger_that_was_cut_off_is_none(path: Path, left: int, *, writing: bool) -> None:
    """SQLite takes a file of one byte for an empty one; facts are not written over what was a ledger."""
    with Ledger(path, writing=True) as ledger:
        ledger.write([fact()])
    cut = path.read_bytes()[:left]
    path.write_bytes(cut)
    with pytest.raises(RecordError, match="damaged or no ledger at all"):
        Ledger(path, writing=writing)
    assert path.read_bytes() == cut
