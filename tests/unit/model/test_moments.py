"""Moments of a zone: their offset is fixed, so that the usual signs mean the time that passes."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.model.moments import minutes_after, told_in

LISBON = ZoneInfo("Europe/Lisbon")
EVE = datetime(2026, 10, 24, 20, 0, tzinfo=LISBON)  # the clock goes back by an hour in the night after


def test_a_night_of_a_clock_change_is_an_hour_longer() -> None:
    """20:00 to 08:00 are 13 hours; the zone's own moments say 12."""
    morning = datetime(2026, 10, 25, 8, 0, tzinfo=LISBON)
    assert morning - EVE == timedelta(hours=12)
    assert told_in(morning, LISBON) - told_in(EVE, LISBON) == timedelta(hours=13)
    assert minutes_after(EVE, 13 * 60).isoformat() == "2026-10-25T08:00:00+00:00"


def test_both_passes_of_a_repeated_hour_are_told_apart() -> None:
    """01:30 comes twice; the second is later, and neither is lost on the way through text."""
    first = told_in(datetime(2026, 10, 25, 0, 30, tzinfo=UTC), LISBON)
    second = told_in(datetime(2026, 10, 25, 1, 30, tzinfo=UTC), LISBON)
    assert first < second
    assert (first.hour, second.hour) == (1, 1)
    assert datetime.fromisoformat(second.isoformat()) == second
    assert second - first == timedelta(hours=1)


def test_half_an_hour_on_lord_howe() -> None:
    """The clock there changes by thirty minutes."""
    howe = ZoneInfo("Australia/Lord_Howe")
    begin = datetime(2026, 4, 4, 14, 0, tzinfo=UTC)  # 01:00 on Sunday, at +11:00
    assert told_in(begin, howe).isoformat() == "2026-04-05T01:00:00+11:00"
    assert minutes_after(told_in(begin, howe), 90).isoformat() == "2026-04-05T02:30:00+11:00"
    assert minutes_after(begin.astimezone(howe), 90).isoformat() == "2026-04-05T02:00:00+10:30"
