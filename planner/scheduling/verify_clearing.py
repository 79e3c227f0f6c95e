"""The last bed of every printer: cleared in a visit, once it is cold, unless nobody is there to do it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, datetime, timedelta

from planner.model.schedule import Run, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.verify_away import Gone, all_gone, away_of
from planner.scheduling.verify_hours import MINUTE, persons_there

DAYS_LOOKED_AT = 15  # in which nobody may be there for long enough, where a last bed is cleared in no visit


def clearing_faults(
    lines: Mapping[str, Sequence[Run]],
    schedule: Schedule,
    workshop: Workshop,
    on_bed: Mapping[str, str],
    start: datetime,
) -> Iterator[str]:
    """One sentence for every last bed that is cleared too early, or in no visit although somebody is there.

    Parameters
    ----------
    lines : runs of each printer in order
    on_bed : by printer, the bed of an earlier plan that still lies on it
    """
    now = start.astimezone(UTC)
    for printer in workshop.printers:
        line = lines.get(printer.name, ())
        bed = line[-1].batch if line else on_bed.get(printer.name)
        if bed is None:
            continue
        cold = (line[-1].end.astimezone(UTC) if line else now) + timedelta(minutes=printer.cool_down_minutes)
        words = (f"clear {bed} from {printer.name}", f"clear {bed}")
        ends = [
            visit.at.astimezone(UTC) + visit.minutes * MINUTE
            for visit in schedule.visits
            if any(task in words for task in visit.tasks)
        ]
        if ends and max(ends) < cold + workshop.clear_minutes * MINUTE:
            yield f"{bed} is cleared from {printer.name} before it has cooled."
        away = away_of(printer.away, workshop, start)
        for visit in schedule.visits:
            since = visit.at.astimezone(UTC)
            until = since + visit.minutes * MINUTE
            if words[0] in visit.tasks and all_gone(away, since, until, workshop.clear_minutes):
                yield f"{bed} is cleared from {printer.name} while that is away."
        if not ends and _somebody_could(workshop, schedule, cold, away):
            yield f"{bed} is cleared from {printer.name} in no visit, though somebody is there to do it."


def _somebody_could(workshop: Workshop, schedule: Schedule, since: datetime, away: Sequence[Gone]) -> bool:
    """Whether somebody is there long enough, outside of all visits, in the days after."""
    busy = [(v.at.astimezone(UTC), v.at.astimezone(UTC) + v.minutes * MINUTE) for v in schedule.visits]
    free, moment = 0, since + (MINUTE if since.second or since.microsecond else 0 * MINUTE)
    moment = moment.replace(second=0, microsecond=0)
    for _ in range(DAYS_LOOKED_AT * 24 * 60):
        visited = any(begin <= moment < end for begin, end in busy)
        gone = any(begin <= moment < end for begin, end in away)
        free = 0 if gone or visited or persons_there(workshop.attendance, moment) == 0 else free + 1
        if free >= max(1, workshop.clear_minutes):
            return True
        moment += MINUTE
    return False
