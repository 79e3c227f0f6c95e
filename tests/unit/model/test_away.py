"""Spans in which something is away: whole days, moments, open ends, and what is refused."""
# ruff: noqa: DTZ001 - moments without an offset are on the clock of the workshop

from __future__ import annotations

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from planner.errors import RecordError
from planner.model.away import Away, joined, spans_of
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer

LISBON = ZoneInfo("Europe/Lisbon")


def test_days_count_whole_on_the_clock_of_the_workshop() -> None:
    """Two days in October with the hour that the clock gives back: 49 hours."""
    since, until = Away(date(2026, 10, 24), date(2026, 10, 25)).span(LISBON)
    assert until is not None
    assert (until.astimezone(UTC) - since.astimezone(UTC)).total_seconds() == 49 * 3600
    assert Away(date(2026, 10, 24)).span(LISBON) == (since, None)


def test_moments_are_as_written_and_offsets_hold() -> None:
    """What carries no offset is on the clock of the workshop."""
    naive, aware = datetime(2026, 7, 1, 8), datetime(2026, 7, 1, 12, tzinfo=UTC)
    assert Away(naive, aware).span(LISBON) == (naive.replace(tzinfo=LISBON), aware)


def test_spans_that_meet_are_one() -> None:
    """In order of time; an open end swallows all that follow."""
    days = [Away(date(2026, 1, day), date(2026, 1, day)) for day in (9, 5, 6)]
    assert [(a.day, b.day if b else 0) for a, b in spans_of(days, UTC)] == [(5, 7), (9, 10)]
    assert [(a.day, b) for a, b in spans_of([*days, Away(date(2026, 1, 4))], UTC)] == [(4, None)]
    both = joined(days[:1], [Away(date(2026, 1, 8), date(2026, 1, 9), "lent")], UTC)
    assert [(one.since.day, one.why) for one in both] == [(8, "lent")]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Away(date(2026, 1, 9), date(2026, 1, 8)), "from 2026-01-09 until 2026-01-08 ends before"),
        (lambda: Away(datetime(2026, 1, 9, 8), datetime(2026, 1, 9, 8)), "ends before it begins"),
        (lambda: Away(date(2026, 1, 9), why="a\nb"), "control character"),
        (lambda: Printer("one", "one", away=_OVERLAP), r"printer 'one': away from .* overlaps"),
        (lambda: Filament("PLA", "PLA", 1.2, 1.2, away=_OVERLAP), "filament 'PLA': away from"),
        (lambda: Spool("a", "PLA", 5.0, away=(Away(date(2026, 1, 1)), *_OVERLAP[:1])), "until told overlaps"),
    ],
)
def test_what_is_refused(make, words: str) -> None:
    """In a sentence."""
    with pytest.raises(RecordError, match=words):
        make()


_OVERLAP = (Away(date(2026, 1, 5), date(2026, 1, 7)), Away(datetime(2026, 1, 7, 23), datetime(2026, 1, 9)))
