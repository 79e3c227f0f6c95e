"""The hours of a timetable in which nobody is there, and the nights, as spans of seconds since 1970 UTC."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.model.attendance import Attendance

Span = tuple[float, float]
NIGHT_BEGINS, NIGHT_ENDS = time(22, 0), time(6, 0)


def attended(attendance: Attendance, since: float, until: float) -> list[Span]:
    """Spans in which somebody is there, joined and in order; all of the time where no window is given.

    With several persons it is enough that one is there. Windows are wall time of the attendance's
    zone: on a day of the change of summer time they keep their wall time and may be an hour shorter
    or longer.
    """
    always = not attendance.weekly and not attendance.dates
    if always and not attendance.away and not attendance.absences:
        return [(since, until)]
    zone = ZoneInfo(attendance.zone)
    found: list[Span] = []
    for day in _days(since, until, zone):
        windows = [(w.since, w.until, w.person) for w in attendance.weekly if day.weekday() in w.days]
        windows += [(w.since, w.until, w.person) for w in attendance.dates if w.day == day]
        for opens, closes, person in [(time(0), time(0), "")] if always else windows:
            if attendance.away_on(day, person):
                continue
            last = day if closes != time(0) else day + timedelta(days=1)
            found.append((_at(day, opens, zone), _at(last, closes, zone)))
    return _joined(found, since, until)


def absences(attendance: Attendance, since: float, until: float) -> list[Span]:
    """The gaps that ``attended`` leaves between ``since`` and ``until``."""
    gaps, at = [], since
    for begin, end in attended(attendance, since, until):
        if begin > at:
            gaps.append((at, begin))
        at = end
    return [*gaps, (at, until)] if at < until else gaps


def nights(zone_name: str, since: float, until: float) -> list[Span]:
    """From 22 to 6 o'clock, wall time."""
    zone = ZoneInfo(zone_name)
    spans = [
        (_at(day, NIGHT_BEGINS, zone), _at(day + timedelta(days=1), NIGHT_ENDS, zone))
        for day in _days(since, until, zone)
    ]
    return _joined(spans, since, until)


def midnights(zone_name: str, since: float, until: float) -> list[tuple[float, date]]:
    """Where the days begin, with their date."""
    zone = ZoneInfo(zone_name)
    return [
        (_at(day, time(0), zone), day)
        for day in _days(since, until, zone)
        if since <= _at(day, time(0), zone) < until
    ]


def _at(day: date, clock: time, zone: ZoneInfo) -> float:
    return datetime.combine(day, clock, tzinfo=zone).timestamp()


def _days(since: float, until: float, zone: ZoneInfo) -> list[date]:
    first = datetime.fromtimestamp(since, zone).date() - timedelta(days=1)
    last = datetime.fromtimestamp(until, zone).date()
    return [first + timedelta(days=k) for k in range((last - first).days + 1)]


def _joined(spans: list[Span], since: float, until: float) -> list[Span]:
    joined: list[Span] = []
    for begin, end in sorted(spans):
        begin, end = max(begin, since), min(end, until)
        if begin >= end:
            continue
        if joined and begin <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((begin, end))
    return joined
