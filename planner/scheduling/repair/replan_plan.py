"""Open batches, what runs and where everything was: a schedule that goes on from an earlier one."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.effort import Effort
from planner.model.schedule import Run, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.problem.away_spans import nothing_left
from planner.scheduling.problem.calendar import (
    FIRST_HORIZON_DAYS,
    LAST_HORIZON_DAYS,
    Segment,
    Window,
    minute_of,
    persons_by_window,
    windows,
)
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Tables, compile_tables
from planner.scheduling.repair.replan import Replanned, replan
from planner.scheduling.timetable import runs_of, schedule_of

MINUTES_PER_DAY = 24 * 60
Place = tuple[str, datetime]


@dataclass(frozen=True, slots=True)
class Underway:
    """What goes on while the rest is planned anew: runs with their batches, and beds that still lie there.

    ``on_bed`` names by printer the bed that must be cleared first, ``busy_until`` the moment at which
    somebody who is at it just now is ready there.
    """

    runs: tuple[Run, ...] = ()
    batches: tuple[Batch, ...] = ()
    on_bed: Mapping[str, str] | None = None
    busy_until: Mapping[str, datetime] = field(default_factory=dict)


def replan_batches(
    batches: Sequence[Batch],
    was: Mapping[str, Place],
    underway: Underway,
    workshop: Workshop,
    start: datetime,
    *,
    tolerance_h: float,
    effort: Effort,
    seed: int,
) -> tuple[Schedule, Replanned]:
    """The open batches after the runs that go on; as few moved as the tolerated delay allows.

    ``workshop.printers`` say what is loaded now. Spools are not yet given to the open batches.

    Parameters
    ----------
    was : printer and start of each batch that the earlier plan had; the others are new

    Raises
    ------
    Infeasible
        when the attendance has no room
    """
    days = FIRST_HORIZON_DAYS
    while True:
        tables = tables_now(
            batches, underway, workshop, start, windows(workshop.attendance, start, days), days
        )
        there = without(
            persons_by_window(workshop.attendance, start, days), taken_hands(underway, workshop, start)
        )
        try:
            answer = replan(
                tables,
                [_place(was.get(batch.name), n, tables, workshop, start) for n, batch in enumerate(batches)],
                tolerance=round(tolerance_h * 60.0),
                effort=effort,
                seed=seed,
                there=there,
            )
        except Infeasible:
            gone = nothing_left(batches, workshop, start, days * MINUTES_PER_DAY)
            if gone is not None:
                raise gone from None
            if days >= LAST_HORIZON_DAYS:
                raise
        else:
            if answer.timing.finish * 2 < days * MINUTES_PER_DAY or days >= LAST_HORIZON_DAYS:
                break
        days = min(2 * days, LAST_HORIZON_DAYS)
    return going_on(answer.timing, tables, batches, underway, workshop, start), answer


def going_on(
    timing: Timing,
    tables: Tables,
    batches: Sequence[Batch],
    underway: Underway,
    workshop: Workshop,
    start: datetime,
) -> Schedule:
    """The schedule of what goes on and of the open batches, which are timed; without their spools."""
    made = runs_of(timing, tables, batches, workshop, start)
    runs = [replace(run, name=f"run {n}") for n, run in enumerate((*underway.runs, *made), start=1)]
    bound = max(
        [area_bound(tables) if batches else 0, *(math.ceil(minute_of(start, r.end)) for r in underway.runs)]
    )
    return schedule_of(runs, [*underway.batches, *batches], workshop, start, bound, underway.on_bed)


def taken_hands(underway: Underway, workshop: Workshop, start: datetime) -> list[Window]:
    """When somebody has no hands: spools of runs that go on are changed, or a printer is served just now."""
    return [*_changes(underway.runs, workshop, start), *_at_it(underway, start)]


def _at_it(underway: Underway, start: datetime) -> list[Window]:
    """Whoever clears or changes just now has no hands until that is over."""
    return [(0, math.ceil(minute_of(start, until))) for until in underway.busy_until.values()]


def _changes(runs: Sequence[Run], workshop: Workshop, start: datetime) -> list[Window]:
    """When the spools of runs that go on are changed: a person has no hands for anything else then."""
    found = []
    for run in runs:
        total, given = run.total_g, 0.0
        for draw in run.draws[:-1]:
            given += draw.grams
            at = math.floor(
                minute_of(start, run.start) + given / total * minute_of(run.start, run.end) + 1e-9
            )
            if at >= 0:
                found.append((at, at + max(1, workshop.change_minutes)))
    return found


def without(there: Sequence[Segment], busy: Sequence[Window]) -> list[Segment]:
    """Persons that are left when one is busy in each of these spans."""
    left = list(there)
    for begin, end in busy:
        left = [
            piece
            for since, until, persons in left
            for piece in (
                (since, min(until, begin), persons),
                (max(since, begin), min(until, end), persons - 1),
                (max(since, end), until, persons),
            )
            if piece[0] < piece[1]
        ]
    return left


def _place(
    was: Place | None, batch: int, tables: Tables, workshop: Workshop, start: datetime
) -> tuple[int, int] | None:
    """Printer by number and start in minutes; ``None`` where the batch cannot stay.

    Its printer is gone or no longer takes it, or its start is over.
    """
    names = [printer.name for printer in workshop.printers]
    if was is None or was[0] not in names:
        return None
    printer, minute = names.index(was[0]), round(minute_of(start, was[1]))
    return (printer, minute) if tables.duration[batch, printer] >= 0 and minute >= 0 else None


def tables_now(
    batches: Sequence[Batch],
    underway: Underway,
    workshop: Workshop,
    start: datetime,
    spans: Sequence[Window],
    days: int,
) -> Tables:
    """The open batches behind what goes on and what still lies on the beds."""
    tables = compile_tables(batches, workshop, spans, days * MINUTES_PER_DAY, {}, {}, start)
    release, covered = tables.release.copy(), tables.covered.copy()
    until = {run.printer: run.end for run in underway.runs}
    for n, printer in enumerate(workshop.printers):
        if printer.name in until:
            cool = math.ceil(printer.cool_down_minutes)
            release[n] = max(0, math.ceil(minute_of(start, until[printer.name])) + cool)
        if printer.name in underway.busy_until:
            release[n] = max(release[n], math.ceil(minute_of(start, underway.busy_until[printer.name])))
        covered[n] = printer.name in until or printer.name in (underway.on_bed or {})
    return tables._replace(release=release, covered=covered.astype(np.int32))
