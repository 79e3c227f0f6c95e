"""Facts of files: the last of a bed counts, none of one that failed; the clock is held against it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from planner.ledger.evidence import timed_runs
from planner.ledger.fact import BEGAN, DONE, FAILED, READ_BACK, Fact
from planner.ledger.files import all_files, files_of

AT = datetime(2026, 12, 1, 18, tzinfo=UTC)


def fact(kind: str, about: str = "bed 1", hours: float = 0.0, **data: Any) -> Fact:
    return Fact(
        kind,
        about,
        AT + timedelta(hours=hours),
        f"{kind}{about}{hours}",
        "kite",
        data={"series": "s", **data},
    )


def read(about: str = "bed 1", grams: float = 110.0, hours: float = 0.0) -> Fact:
    return fact(
        READ_BACK, about, hours, file="a", grams=grams, minutes=60.0, factor=1.5, tables_g=100.0,
        tables_minutes=50.0, pieces=["rib"], filament="PLA", printer="desk",
    )  # fmt: skip


def test_the_last_file_counts_and_a_failure_ends_it():
    facts = [read(), read(grams=120.0, hours=1.0), read("bed 2")]
    found = files_of(facts, "kite", "s")
    assert (found["bed 1"].share, found["bed 1"].minutes_share) == (pytest.approx(1.2), pytest.approx(1.2))
    assert set(files_of([*facts, fact(FAILED, hours=2.0)], "kite", "s")) == {"bed 2"}
    assert [one.share for one in all_files(facts)] == pytest.approx([1.2, 1.1])


def test_the_clock_is_held_against_the_file():
    run = {"printer": "desk", "filament": "PLA", "minutes": 80.0, "told_at": True}
    began, done = fact(BEGAN, **run), fact(DONE, hours=2.0, **run)
    (plain,) = timed_runs([began, done], {"desk": 6.0})
    (filed,) = timed_runs([read(), began, done], {"desk": 6.0})
    assert (plain.predicted, filed.predicted) == (80.0, 6.0 + 90.0)
