"""Facts of files: the last of a bed counts, none of one that failed; the clock is held against it."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from typing import Any, cast

import pytest

from planner.ledger.evidence import timed_runs
from planner.ledger.fact import BEGAN, DONE, FAILED, READ_BACK, TAKEN_BACK, Fact
from planner.ledger.files import all_files, files_of, files_since
from planner.model.replan import EarlierPlan

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


def test_the_clock_of_another_series_or_after_a_failure_is_not_held_against_the_file():
    run = {"printer": "desk", "filament": "PLA", "minutes": 80.0, "told_at": True}
    again = [fact(BEGAN, hours=3.0, **run), fact(DONE, hours=5.0, **run)]
    (failed,) = timed_runs([read(), fact(FAILED, hours=2.0), *again], {"desk": 6.0})
    assert failed.predicted == 80.0
    anew = {**run, "series": "later"}
    (other,) = timed_runs([read(), fact(BEGAN, **anew), fact(DONE, hours=2.0, **anew)], {"desk": 6.0})
    assert other.predicted == 80.0


def placed(seq: int, one: Fact) -> Fact:
    return replace(one, seq=seq)


def back(seq: int, of: Fact) -> Fact:
    return placed(seq, Fact(TAKEN_BACK, of.about, AT, f"back {seq}", "kite", takes_back=of.uid))


def plan_of(counts: int) -> EarlierPlan:
    """A plan that knows as many facts."""
    return cast(
        "EarlierPlan", SimpleNamespace(airframe="kite", series="s", taught=SimpleNamespace(facts=counts))
    )


def shares(facts: list[Fact], counts: int) -> list[float | None]:
    """Of bed 1 by the plan, and by now."""
    since = files_since(facts, plan_of(counts))
    return [
        None if (one := files.get("bed 1")) is None else round(one.share, 6)
        for files in (since.in_plan, since.by_now)
    ]


def test_the_file_of_the_plan_and_the_one_of_now():
    first, second = placed(1, read()), placed(2, read(grams=120.0, hours=1.0))
    assert shares([first, second], 0) == [None, 1.2]
    assert shares([first, second], 1) == [1.1, 1.2]
    assert shares([first, second], 2) == [1.2, 1.2]
    assert shares([first, second, back(3, second)], 2) == [1.2, 1.1]
    assert shares([first, second, back(3, second)], 3) == [1.1, 1.1]
    failed = placed(3, fact(FAILED, hours=2.0))
    assert shares([first, second, failed], 2) == [1.2, 1.2]  # it was laid by its file
    assert shares([first, second, failed], 3) == [None, None]


def test_grams_of_a_piece_follow_the_file_that_was_taken_last():
    first, second = placed(1, read()), placed(2, read(grams=120.0, hours=1.0))
    rib = {"piece": "rib", "bed": "bed 1", "flying_g": 11.0, "predicted_g": 11.0}
    since = files_since([first, second], plan_of(1))
    held = since.held(rib, supports_on=False)
    assert (held["flying_g"], held["predicted_g"]) == (pytest.approx(12.0), pytest.approx(12.0))
    whole = since.held({**rib, "predicted_g": 15.0}, supports_on=True)  # 15 g of the tables
    assert (whole["flying_g"], whole["predicted_g"]) == (pytest.approx(12.0), pytest.approx(18.0))
    for other in ({**rib, "piece": "spar"}, {**rib, "bed": "bed 2"}):
        assert since.held(other, supports_on=False) == other
        assert since.of_piece(other) is None
