"""Nothing is printed, handled or drawn from while it is away; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

from planner.model.away import Away
from planner.model.batch import Batch
from planner.model.schedule import Run
from planner.model.workshop import Workshop

NEVER_BACK = datetime.max.replace(tzinfo=UTC)
A_MINUTE = timedelta(minutes=1)  # spans are counted in whole minutes
Gone = tuple[datetime, datetime]


def away_of(away: Sequence[Away], workshop: Workshop, start: datetime) -> list[Gone]:
    """The spans as instants: days count whole, on the local clock."""
    there = workshop.attendance
    told = there.weekly or there.dates or there.zone != "UTC"
    zone = ZoneInfo(there.zone) if told else start.tzinfo or UTC

    def instant(day: date, days: int) -> datetime:
        if not isinstance(day, datetime):
            day = datetime(day.year, day.month, day.day) + timedelta(days=days)  # noqa: DTZ001
        return (day if day.tzinfo else day.replace(tzinfo=zone)).astimezone(UTC)

    return [
        (instant(one.since, 0), NEVER_BACK if one.until is None else instant(one.until, 1)) for one in away
    ]


def all_gone(away: Sequence[Gone], since: datetime, until: datetime, minutes: int) -> bool:
    """Whether no stretch of so many minutes between two moments is free of the spans."""
    free, moment = 0, since
    while moment < until:
        free = 0 if any(begin <= moment < end for begin, end in away) else free + 1
        if free >= minutes:
            return False
        moment += A_MINUTE
    return minutes > 0


def away_faults(
    runs: Sequence[Run],
    named: Mapping[str, Batch],
    workshop: Workshop,
    mounted: Mapping[str, datetime],
    start: datetime,
) -> Iterator[str]:
    """One sentence for every planned run that needs what is away then.

    Parameters
    ----------
    mounted : by run, when somebody begins to make its printer ready
    """
    printers = {p.name: away_of(p.away, workshop, start) for p in workshop.printers}
    cooling = {p.name: timedelta(minutes=p.cool_down_minutes) for p in workshop.printers}
    filaments = {f.name: away_of(f.away, workshop, start) for f in workshop.filaments}
    spools = {s.name: away_of(s.away, workshop, start) for s in workshop.spools}
    for run in runs:
        begins, ends = mounted[run.name], run.end.astimezone(UTC)
        filament = named[run.batch].filament
        if run.mark != "running":
            if _meet(printers.get(run.printer, ()), begins, ends + cooling.get(run.printer, timedelta(0))):
                yield f"{run.name} is on {run.printer} while that is away."
            if _meet(filaments.get(filament, ()), begins, ends):
                yield f"{run.name} prints {filament} while that is away."
        total, given = sum(draw.grams for draw in run.draws) + run.short_g, 0.0
        for n, draw in enumerate(run.draws):
            length = ends - run.start.astimezone(UTC)
            since = begins if n == 0 else run.start.astimezone(UTC) + length * (given / total)
            given += draw.grams
            until = run.start.astimezone(UTC) + length * (given / total) if total > 0.0 else ends
            under_way = run.mark == "running" and (n == 0 or since < start.astimezone(UTC))
            if not under_way and _meet(spools.get(draw.spool, ()), since + A_MINUTE, until - A_MINUTE):
                yield f"{run.name} draws from {draw.spool} while that is away."


def _meet(away: Sequence[Gone], since: datetime, until: datetime) -> bool:
    return any(begin < until and end > since for begin, end in away)
