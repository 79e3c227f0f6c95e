"""What is away is told, printers without a day of return are left out, cut runs are named."""
# ruff: noqa: DTZ001 - moments without an offset are on the clock of the workshop

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from planner.errors import Infeasible
from planner.model.away import Away
from planner.model.schedule import Draw, Run
from planner.pipeline.away import cut_short, there_now
from tests.small_sample import sample_job

OVER = Away(date(2026, 1, 2), date(2026, 1, 3))
NOW_UNTIL = Away(date(2026, 1, 5), date(2026, 1, 6))
COMING = Away(datetime(2026, 1, 8, 9), datetime(2026, 1, 8, 12), "lent out")
EVER = Away(date(2026, 1, 5))


def away(*spans: Away, printers: str = "a") -> Any:
    """The small job with spans of some printers."""
    job = sample_job()
    made = tuple(replace(p, away=spans if p.name in printers else ()) for p in job.workshop.printers)
    return replace(job, workshop=replace(job.workshop, printers=made))


@pytest.mark.parametrize(
    ("span", "words"),
    [
        (OVER, "its absence until 2026-01-04 00:00 is over before the plan begins."),
        (NOW_UNTIL, "away until 2026-01-07 00:00"),
        (COMING, "away from 2026-01-08 09:00 until 2026-01-08 12:00"),
        (EVER, "away until told: the plan leaves it out."),
    ],
)
def test_what_is_told(span: Away, words: str) -> None:
    """A note each; only what has no end is left out."""
    made = there_now(away(span))
    assert [(one.about, one.text, one.weight) for one in made.findings] == [("printer a", words, "note")]
    assert [p.name for p in made.workshop.printers] == (["b"] if span is EVER else ["a", "b"])


def test_a_job_without_absences_is_as_it_was() -> None:
    """The very same."""
    job = sample_job()
    assert there_now(job) is job


def test_with_no_printer_left_there_is_no_plan() -> None:
    """Unless something runs on it now: that is another matter."""
    job = away(EVER, printers="ab")
    with pytest.raises(Infeasible, match="every printer is away until told"):
        there_now(job)
    assert [p.name for p in there_now(job, frozenset({"b"})).workshop.printers] == ["b"]


def test_a_run_that_is_cut_is_named() -> None:
    """By its printer, its filament and its spools."""
    job = away(COMING)
    shop = job.workshop
    filament = replace(shop.filaments[0], away=(EVER,))
    spool = replace(shop.spools[0], away=(OVER,))
    job = replace(job, workshop=replace(shop, filaments=(filament,), spools=(spool,)))
    since = datetime(2026, 1, 8, 8, tzinfo=job.start.tzinfo)
    run = Run("run 1", "bed 1", "a", since, since + timedelta(hours=2), True, (Draw("1", 5.0),), 1.0)
    earlier: Any = SimpleNamespace(batches=(SimpleNamespace(name="bed 1", filament="PLA"),))
    found = cut_short(job, [run], earlier)
    assert [one.about for one in found] == ["bed 1", "bed 1"]
    assert "printer a is away from 2026-01-08 09:00 until 2026-01-08 12:00" in found[0].text
    assert "filament PLA is away from 2026-01-05 00:00 until told" in found[1].text
    early = replace(run, end=since + timedelta(minutes=60))
    assert [one.text.split(" is away")[0][-12:] for one in cut_short(job, [early], earlier)] == [
        "filament PLA"
    ]
