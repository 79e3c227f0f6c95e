"""Attendance as whole minutes since the start of the plan.

Local wall times are turned into elapsed time by way of UTC, so that a night with a clock change is an
hour shorter or longer than the others.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo

from planner.errors import InputError
from planner.model.attendance import Attendance
from planner.model.moments import told_in

Window = tuple[int, int]
Segment = tuple[int, int, int]

FIRST_HORIZON_DAYS = 28
LAST_HORIZON_DAYS = 5 * 366


def zone_of(attendance: Attendance, start: datetime) -> tzinfo:
    """The zone in which the plan's times are told: that of the attendance, if it says any hours."""
    if attendance.weekly or attendance.dates or attendance.zone != "UTC" or start.tzinfo is None:
        return ZoneInfo(attendance.zone)
    return start.tzinfo


def at_minute(start: datetime, minutes: float, zone: tzinfo) -> datetime:
    """The instant so many elapsed minutes after the start, told in ``zone``."""
    return told_in(start.astimezone(UTC) + timedelta(minutes=minutes), zone)


def minute_of(start: datetime, moment: datetime) -> float:
    """Elapsed minutes between the start and another instant."""
    return (moment.astimezone(UTC) - start.astimezone(UTC)).total_seconds() / 60.0


def windows(attendance: Attendance, start: datetime, days: int) -> tuple[Window, ...]:
    """Half-open windows ``[since, until)`` in minutes after ``start`` with somebody there, merged.

    Minutes are rounded inward. On dates in ``away`` nobody is there, whatever else is said.

    Raises
    ------
    InputError
        when the start carries no time zone
    """
    return _merged([(since, until) for since, until, _ in persons_by_window(attendance, start, days)])


@lru_cache(maxsize=256)
def persons_by_window(attendance: Attendance, start: datetime, days: int) -> tuple[Segment, ...]:
    """How many are there when: ``(since, until, persons)`` in minutes after ``start``, in order, none empty.

    Raises
    ------
    InputError
        when the start carries no time zone
    """
    if start.tzinfo is None:
        raise InputError("the start of the plan has no time zone.", next_step="Write it with an offset.")
    changes: dict[int, int] = defaultdict(int)
    for person in ("", *attendance.named):
        for since, until in _windows_of(attendance, person, start, days):
            changes[since] += 1 if person else attendance.persons
            changes[until] -= 1 if person else attendance.persons
    found: list[Segment] = []
    there, last = 0, 0
    for at in sorted(changes):
        if there > 0 and at > last:
            found.append((last, at, there))
        there, last = there + changes[at], at
    return tuple(found)


def _windows_of(attendance: Attendance, person: str, start: datetime, days: int) -> tuple[Window, ...]:
    """The windows of one person, or those that name nobody."""
    zone = ZoneInfo(attendance.zone)
    first = start.astimezone(zone).date() - timedelta(days=1)
    spans: list[Window] = []
    for offset in range(days + 2):
        day = first + timedelta(days=offset)
        for since, until in _hours(attendance, person, day):
            opens, closes = _instants(day, since, until, zone)
            low = max(0, math.ceil(minute_of(start, opens)))
            high = math.floor(minute_of(start, closes))
            if high > low:
                spans.append((low, min(high, days * 24 * 60)))
    return _merged(spans)


def _hours(attendance: Attendance, person: str, day: date) -> Iterator[tuple[time, time]]:
    if attendance.away_on(day, person):
        return
    if not attendance.weekly and not attendance.dates:
        yield time(0), time(0)
    for weekly in attendance.weekly:
        if weekly.person == person and day.weekday() in weekly.days:
            yield weekly.since, weekly.until
    for single in attendance.dates:
        if single.person == person and single.day == day:
            yield single.since, single.until


def _instants(day: date, since: time, until: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Opening and closing; of an hour that the clock repeats or skips, only what is certain is counted.

    A window that lies whole in a skipped hour is none: the clock never shows it.
    """
    last = day + timedelta(days=1) if until == time(0) else day
    opening, closing = _both(day, since, zone), _both(last, until, zone)
    opens, closes = max(opening), min(closing)
    if (
        opens >= closes and opening[0] < opening[1]
    ):  # the whole window lies in the repeated hour: its first pass
        opens, closes = opening[0], closing[0]
    return opens, closes


def _both(day: date, clock: time, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """The instants of a wall time in the order of ``fold``; they differ only where the clock changes."""
    first, second = (datetime.combine(day, clock.replace(fold=fold), tzinfo=zone) for fold in (0, 1))
    return first.astimezone(UTC), second.astimezone(UTC)


def _merged(spans: Sequence[Window]) -> tuple[Window, ...]:
    merged: list[Window] = []
    for since, until in sorted(spans):
        if since >= until:
            continue
        if merged and since <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(until, merged[-1][1]))
        else:
            merged.append((since, until))
    return tuple(merged)
