"""When the last bed of every printer is cleared, minute by minute; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.model.schedule import Run
from planner.model.workshop import Workshop
from planner.scheduling.verify_away import away_of
from planner.scheduling.verify_hours import MINUTE, who_is_there

DAYS_LOOKED_AT = 15  # after a bed is cold; nothing is said of one that nobody can clear by then
A_DAY = timedelta(days=1)
NEAR = timedelta(hours=3)
Work = tuple[datetime, datetime]  # hands that are asked for, from and until


@dataclass(frozen=True, slots=True)
class Clearing:
    """A last bed: what is said of it, and from when until when somebody clears it."""

    words: str
    since: datetime
    until: datetime


def last_clearings(
    runs: Sequence[Run],
    hands: Sequence[Work],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str],
) -> Iterator[Clearing]:
    """The last bed of every printer, each as soon as it is cold and somebody has free hands for it.

    Those that are cold first are cleared first. A clearing is not handed over: the same persons are there
    until it is done. Nothing is said of the hours in which clocks change, nor of plans that do not begin with
    a minute.

    Parameters
    ----------
    hands : when somebody is busy with starting a bed or changing a spool
    on_bed : by printer, the bed of an earlier plan that still lies on it
    """
    lies = {printer: (bed, start.astimezone(UTC)) for printer, bed in on_bed.items()}
    lies |= {run.printer: (run.batch, _whole(run.end, start)) for run in runs}
    cold = [
        (lies[one.name][1] + timedelta(minutes=-(-one.cool_down_minutes // 1)), one)
        for one in workshop.printers
        if one.name in lies
    ]
    busy = list(hands)
    for since, printer in sorted(cold, key=lambda row: (row[0], row[1].name)):
        at = _first_free(since, busy, away_of(printer.away, workshop, start), workshop)
        if at is None or _clocks_change(at, workshop) or start.second or start.microsecond:
            return  # those that are cold later depend on it
        until = at + workshop.clear_minutes * MINUTE
        busy.append((at, until))
        yield Clearing(f"clear {lies[printer.name][0]} from {printer.name}", at, until)


def _whole(moment: datetime, start: datetime) -> datetime:
    """The first whole minute, counted from the start, by which it is over."""
    began = start.astimezone(UTC)
    passed = max(timedelta(0), moment.astimezone(UTC) - began)
    return began + -(-passed // MINUTE) * MINUTE


def _first_free(
    since: datetime, busy: Sequence[Work], away: Sequence[Work], shop: Workshop
) -> datetime | None:
    """The first minute from which the same persons stay for as long as clearing takes, one of them free."""
    length = max(1, shop.clear_minutes) * MINUTE
    late = [work for work in busy if work[1] > since]
    at, stay = since, since  # in all minutes from ``at`` until ``stay`` the same persons are there
    while at < since + DAYS_LOOKED_AT * A_DAY:
        here = who_is_there(shop.attendance, at)
        stay = max(stay, at)
        while here and stay < at + length and who_is_there(shop.attendance, stay) == here:
            stay += MINUTE
        if not here or stay < at + length:
            at = max(stay, at + MINUTE)
            continue
        persons = sum(1 if who else shop.attendance.persons for who in here)
        taken = sum(begin < at + length and end > at for begin, end in late)
        gone = any(begin < at + length and end > at for begin, end in away)
        if taken < persons and not gone:
            return at
        at += MINUTE
    return None


def _clocks_change(at: datetime, workshop: Workshop) -> bool:
    """Whether clocks are set a few hours before or after: then it is not known which hour of two is meant."""
    zone = ZoneInfo(workshop.attendance.zone)
    near = (at - NEAR, at, at + workshop.clear_minutes * MINUTE + NEAR)
    return len({moment.astimezone(zone).utcoffset() for moment in near}) > 1
