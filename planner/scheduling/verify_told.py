"""Whether a schedule tells the truth about itself: hours, counts, bounds, prices; shares no code with it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from planner.model.schedule import Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.verify_hours import MINUTE, somebody_there

_TOLD_H = 1e-6


def told_faults(
    schedule: Schedule, uses: Sequence[SpoolUse], workshop: Workshop, start: datetime
) -> tuple[str, ...]:
    """One sentence for each hour, count, bound or price that the runs do not make."""
    return (
        *_hours(schedule, workshop, start),
        *_counts(schedule),
        *_bounds(schedule),
        *_attended(schedule, workshop),
        *_prices(uses, workshop),
    )


def _h(begin: datetime, end: datetime) -> float:
    return (end.timestamp() - begin.timestamp()) / 3600.0


def _hours(schedule: Schedule, workshop: Workshop, start: datetime) -> Iterator[str]:
    makespan = _h(start, schedule.finish)
    if schedule.runs and abs(schedule.makespan_h - makespan) > _TOLD_H:
        yield f"the plan is told to last {schedule.makespan_h:g} h, from start to finish are {makespan:g} h."
    if set(schedule.print_hours) != {printer.name for printer in workshop.printers}:
        yield f"hours of printing are told of {', '.join(schedule.print_hours)}, not of every printer."
    for name, told in schedule.print_hours.items():
        own = [run for run in schedule.runs if run.printer == name]
        hours = sum(_h(max(run.start, start, key=datetime.timestamp), run.end) for run in own)
        if abs(hours - told) > _TOLD_H:
            yield f"{name} is told to print for {told:g} h, its runs last {hours:g} h."


def _counts(schedule: Schedule) -> Iterator[str]:
    runs = schedule.runs
    changed = sum(1 for run in runs if run.changed_from is not None and run.mark != "running")
    if changed != schedule.changeovers:
        yield f"{schedule.changeovers} changeovers are told, the runs make {changed}."
    if len({run.name for run in runs}) < len(runs):
        yield "two runs have one name."
    moments = [run.start.timestamp() for run in runs]
    if moments != sorted(moments):
        yield "the runs are not told in the order in which they start."


def _bounds(schedule: Schedule) -> Iterator[str]:
    """Nothing that is proved to be impossible is reached; what is proved of the gap follows."""
    bound, gap, reached = schedule.lower_bound_h, schedule.proven_gap, schedule.makespan_h
    for told in (bound, schedule.beds_bound_h):
        if told is not None and told > reached + 1.0 / 60.0:
            yield f"no plan is told to last less than {told:g} h, and this one lasts {reached:g} h."
    if (bound is None) != (gap is None):
        yield "a bound is told without its gap, or a gap without its bound."
    if bound is not None and gap is not None and bound > 0.0:
        exact = max(0.0, (reached - bound) / bound)
        if abs(exact - gap) > 1e-6:
            yield f"the gap to the bound is told as {gap:g}, it is {exact:g}."


def _attended(schedule: Schedule, workshop: Workshop) -> Iterator[str]:
    """Whether a start is attended: somebody is there in the minute before it."""
    for run in schedule.runs:
        if run.mark != "running":
            there = somebody_there(workshop.attendance, run.start.astimezone(UTC) - MINUTE, run.start)
            if there is not run.attended_start:
                said = "attended" if run.attended_start else "unattended"
                yield f"the start of {run.name} is told as {said}, which it is not."


def _prices(uses: Sequence[SpoolUse], workshop: Workshop) -> Iterator[str]:
    shelf = {spool.name: spool.price_minor for spool in workshop.spools}
    new = {filament.name: filament.price_minor for filament in workshop.filaments}
    holds = {spool.name: spool.filament for spool in workshop.spools}
    for use in uses:
        if holds.get(use.spool, use.filament) != use.filament or (use.bought and use.filament not in new):
            yield f"spool {use.spool} is told to hold {use.filament}, which it does not."
        price = new.get(use.filament) if use.bought else shelf.get(use.spool)
        if price != use.price_minor:
            yield f"spool {use.spool} is told to cost {use.price_minor}, its price is {price}."
