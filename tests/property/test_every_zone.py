"""Attendance and plans over every clock change of the time zone database, 2026 to 2030.

Held against something outside: minutes are counted one by one on the clock of zoneinfo (PEP 615).
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo, available_timezones

import pytest

from planner.model.attendance import Attendance, WeeklyWindow
from planner.model.effort import QUICK
from planner.scheduling.plan import schedule_batches
from planner.scheduling.problem.calendar import windows
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from planner.scheduling.verify_hours import persons_there
from tests.unit.scheduling.workshops import make_batch, make_workshop, random_case

HOUR, MINUTE = timedelta(hours=1), timedelta(minutes=1)
FEW = ("Australia/Lord_Howe", "Europe/Dublin", "America/St_Johns", "Africa/Casablanca", "Pacific/Chatham")
DAYS = tuple(range(7))
CLOCKS = (
    ((0, 0), (0, 30)),
    ((0, 45), (2, 15)),
    ((1, 0), (1, 45)),
    ((1, 30), (2, 30)),
    ((2, 0), (3, 0)),
    ((23, 0), (0, 0)),
)


def changes(name: str, since: int = 2026, until: int = 2031) -> Iterator[datetime]:
    """The hours, in UTC, in which the offset of a zone changes."""
    zone = ZoneInfo(name)
    day = datetime(since, 1, 1, tzinfo=UTC)
    while day.year < until:
        following = day + timedelta(days=1)
        if day.astimezone(zone).utcoffset() != following.astimezone(zone).utcoffset():
            yield next(
                day + n * HOUR
                for n in range(24)
                if (day + n * HOUR).astimezone(zone).utcoffset()
                != (day + (n + 1) * HOUR).astimezone(zone).utcoffset()
            )
        day = following


def check_windows(name: str, change: datetime) -> None:
    """Nobody is counted who is not there; who is missed is missed in the repeated or skipped hours alone."""
    start = change - 5 * HOUR
    for since, until in CLOCKS:
        there = Attendance(weekly=(WeeklyWindow(DAYS, time(*since), time(*until)),), zone=name)
        counted = {tick for a, b in windows(there, start, 1) for tick in range(a, b)}
        truly = {tick for tick in range(10 * 60) if persons_there(there, start + tick * MINUTE)}
        near = {tick for tick in counted if tick < 10 * 60}
        assert near <= truly, (name, change, since)
        missed = truly - near
        assert all(abs(tick - 5 * 60) <= 4 * 60 for tick in missed), (name, change, since)
        assert len(missed) <= 4 * 60


def check_plan(name: str, change: datetime, seed: int) -> None:
    """A plan that begins on the eve is sound, and its runs last as long as their beds."""
    batches, workshop = random_case(seed)
    weekly = (WeeklyWindow(DAYS, time(1), time(4)), WeeklyWindow(DAYS, time(18), time(23)))
    workshop = make_workshop(Attendance(weekly=weekly, zone=name), *workshop.printers)
    batches = [
        make_batch(batch.name, min(batch.minutes, 150.0), batch.printer_kind, "PLA") for batch in batches[:4]
    ]
    start = (change - 9 * HOUR).astimezone(ZoneInfo(name))
    made = schedule_batches(batches, workshop, start, section_of={}, effort=QUICK, seed=1, steps=50)
    made, uses = spooled(made, batches, workshop, start)
    assert verify_schedule(made, uses, batches, workshop, start) == (), (name, change)
    minutes = {batch.name: batch.minutes for batch in batches}
    for run in made.runs:
        assert 0.0 <= (run.end - run.start).total_seconds() / 60.0 - minutes[run.batch] <= 1.0
        assert datetime.fromisoformat(run.start.isoformat()) == run.start
    for visit in made.visits:
        assert visit.at.utcoffset() == visit.at.astimezone(ZoneInfo(name)).utcoffset()


@pytest.mark.parametrize("name", FEW)
def test_changes_of_some_zones(name: str) -> None:
    """Both changes of one year: half an hour, an hour with another sign, quarters, a fasting month."""
    found = list(changes(name, 2027, 2028))
    assert found
    check_windows(name, found[0])
    check_plan(name, found[-1], 3)


@pytest.mark.slow
def test_changes_of_all_zones() -> None:
    """Every zone of the database that has clock changes in these years; plans on one change of each."""
    seen: set[tuple[object, ...]] = set()
    for number, name in enumerate(sorted(available_timezones())):
        found = tuple(changes(name))
        clock = (*found, *(change.astimezone(ZoneInfo(name)).isoformat() for change in found[:1]))
        if not found or clock in seen:
            continue  # another name of a zone that was looked at
        seen.add(clock)
        for change in found[:4]:
            check_windows(name, change)
        check_plan(name, found[number % len(found)], number % 7)
