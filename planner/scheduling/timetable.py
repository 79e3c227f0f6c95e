"""From timed batches to the values of the model: runs, visits, counts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.schedule import RUNNING, Run, Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import at_minute, minute_of, persons_by_window, zone_of
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.handling_windows import Desk, persons_there
from planner.scheduling.problem.placing import place
from planner.scheduling.problem.problem import Tables
from planner.scheduling.spools.spools import assign_spools, refuse_buying
from planner.scheduling.visits import visits_of


def runs_of(
    timing: Timing, tables: Tables, batches: Sequence[Batch], workshop: Workshop, start: datetime
) -> tuple[Run, ...]:
    """The runs in order of their start, named in that order; spools are not yet given.

    Where persons have hours of their own, the order on each printer is timed again so that no more hands are
    asked for than are there.

    Raises
    ------
    Infeasible
        when they are never there together with enough hands
    """
    if workshop.attendance.named:
        timing = _with_hands(timing, tables, workshop, start)
    zone = zone_of(workshop.attendance, start)
    rows: list[tuple[int, int, Run]] = []
    for index, printer in enumerate(workshop.printers):
        loaded = printer.loaded
        for row in timing.order(index):
            batch = batches[row]
            changed = loaded if loaded is not None and loaded != batch.filament else None
            purge = workshop.run_purge_g + (workshop.change_purge_g if changed is not None else 0.0)
            began = int(timing.end[row] - tables.duration[row, index])
            run = Run(
                name="",
                batch=batch.name,
                printer=printer.name,
                start=at_minute(start, began, zone),
                end=at_minute(start, int(timing.end[row]), zone),
                attended_start=True,
                draws=(),
                purge_g=purge,
                changed_from=changed,
            )
            rows.append((began, index, run))
            loaded = batch.filament
    rows.sort(key=lambda item: item[:2])
    return tuple(replace(run, name=f"run {n}") for n, (_, _, run) in enumerate(rows, start=1))


def _with_hands(timing: Timing, tables: Tables, workshop: Workshop, start: datetime) -> Timing:
    """The same order on every printer: a run stays where it is, or is as early as the persons there allow."""
    days = -(-(len(tables.window_at) - 1) // (24 * 60))
    desk = Desk(tables, persons_there(tables, persons_by_window(workshop.attendance, start, days)))
    lines = tuple(tuple(timing.order(printer)) for printer in range(len(tables.release)))
    starts = timing.end - tables.duration[np.arange(len(timing.end)), timing.printer_of]
    was = [(int(p), int(s)) for p, s in zip(timing.printer_of, starts, strict=True)]
    placed = place(desk, lines, was)
    if placed is None:
        raise Infeasible(
            "the persons who have windows of their own are not there long enough to handle all batches.",
            where="attendance",
            next_step="Add or lengthen attendance windows.",
        )
    end = timing.end.copy()
    for batch, begins in enumerate(placed.start):
        end[batch] = begins + tables.duration[batch, timing.printer_of[batch]]
    return Timing(timing.printer_of, np.array(placed.begin, dtype=np.int32), end)


def schedule_of(
    runs: Sequence[Run],
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    bound_minutes: int | None,
    on_bed: Mapping[str, str] | None = None,
) -> Schedule:
    """Visits, finish, hours and counts that follow from the runs; ``bound_minutes`` must be proved.

    Parameters
    ----------
    on_bed : by printer, the bed of an earlier plan that still lies on it
    """
    named = {batch.name: batch for batch in batches}
    zone = zone_of(workshop.attendance, start)
    finish = max(
        (run.end for run in runs), key=lambda end: end.timestamp(), default=at_minute(start, 0, zone)
    )
    visits = visits_of(runs, named, workshop, start, on_bed)
    hours = {
        printer.name: sum(
            (minute_of(max(run.start, start), run.end) / 60.0 for run in runs if run.printer == printer.name),
            start=0.0,
        )
        for printer in workshop.printers
    }
    makespan = minute_of(start, finish)
    gap = None
    if bound_minutes is not None:
        gap = 0.0 if makespan <= bound_minutes else (makespan - bound_minutes) / bound_minutes
    return Schedule(
        runs=tuple(runs),
        visits=visits,
        finish=finish,
        makespan_h=makespan / 60.0,
        print_hours=hours,
        lower_bound_h=None if bound_minutes is None else bound_minutes / 60.0,
        proven_gap=gap,
        interventions=len(visits),
        changeovers=sum(run.changed_from is not None and run.mark != RUNNING for run in runs),
    )


def spooled(
    schedule: Schedule,
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str] | None = None,
    wishes: Mapping[str, str] | None = None,
) -> tuple[Schedule, tuple[SpoolUse, ...]]:
    """The schedule with its spools, and the visits that follow; and what it does to every spool.

    ``wishes`` tell by batch the spool that it should keep where that costs nothing.

    Raises
    ------
    Infeasible
        when a spool would have to be changed in hours without attendance, or one would have to be bought and
        nothing may be
    """
    runs, uses = assign_spools(schedule, batches, workshop, on_bed, wishes)
    refuse_buying(uses, workshop)
    visits = visits_of(runs, {batch.name: batch for batch in batches}, workshop, start, on_bed)
    return replace(schedule, runs=runs, visits=visits, interventions=len(visits)), uses
