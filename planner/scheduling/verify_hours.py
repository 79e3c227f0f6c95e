"""Who is there, minute by minute on the local clock; for the checks of a schedule alone."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from planner.model.attendance import Attendance

MINUTE = timedelta(minutes=1)


def persons_there(there: Attendance, moment: datetime) -> int:
    """How many are there in that minute of the local clock."""
    return sum(1 if who else there.persons for who in who_is_there(there, moment))


def who_is_there(there: Attendance, moment: datetime) -> frozenset[str]:
    """Who is there in that minute of the local clock; without a name: those of hours that name nobody."""
    local = moment.astimezone(ZoneInfo(there.zone))
    day, clock = local.date(), local.time()
    if day in there.away or any(a.since <= day <= a.until and not a.person for a in there.absences):
        return frozenset()
    gone = {absence.person for absence in there.absences if absence.since <= day <= absence.until}
    if not there.weekly and not there.dates:
        return frozenset([""])
    hours = [(w.since, w.until, w.person) for w in there.weekly if local.weekday() in w.days]
    hours += [(w.since, w.until, w.person) for w in there.dates if w.day == day]
    now = {who for since, until, who in hours if since <= clock and (until == time(0) or clock < until)}
    return frozenset(now - (gone - {""}))


def somebody_there(there: Attendance, begin: datetime, end: datetime) -> bool:
    """Every minute from begin to end lies in a window on the local clock."""
    moment = begin
    while moment < end:
        if persons_there(there, moment) == 0:
            return False
        moment += MINUTE
    return True
