"""From timed batches to the values of the model: runs, visits, counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

from planner.model.batch import Batch
from planner.model.schedule import Run, Schedule
from planner.model.workshop import Workshop
from planner.schedule.calendar import at_minute, minute_of, zone_of
from planner.schedule.dispatch import Timing
from planner.schedule.problem import Tables
from planner.schedule.visits import visits_of


def runs_of(
    timing: Timing, tables: Tables, batches: Sequence[Batch], workshop: Workshop, start: datetime
) -> tuple[Run, ...]:
    """The runs in order of their start, named in that order; spools are not yet given."""
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


def schedule_of(
    runs: Sequence[Run],
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    bound_minutes: int | None,
) -> Schedule:
    """Visits, finish, hours and counts that follow from the runs; ``bound_minutes`` must be proved."""
    named = {batch.name: batch for batch in batches}
    zone = zone_of(workshop.attendance, start)
    finish = max(
        (run.end for run in runs), key=lambda end: end.timestamp(), default=at_minute(start, 0, zone)
    )
    visits = visits_of(runs, named, workshop, start)
    hours = {
        printer.name: sum(
            (minute_of(run.start, run.end) / 60.0 for run in runs if run.printer == printer.name), start=0.0
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
        changeovers=sum(run.changed_from is not None for run in runs),
    )
