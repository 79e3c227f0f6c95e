"""Beds and sequence together: several caps on bed hours, each scheduled, the best kept."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from planner.compose.beds import Bedding, BedMaker
from planner.compose.composition import ComposeTask, Composition, Progress
from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.schedule import Schedule
from planner.schedule.plan import schedule_batches
from planner.schedule.spools import assign_spools
from planner.schedule.visits import visits_of

CAPS_MINUTES = {
    "quick": (math.inf, 900.0),
    "normal": (math.inf, 1440.0, 1080.0, 840.0, 660.0, 480.0),
    "thorough": (math.inf, 1800.0, 1440.0, 1260.0, 1080.0, 960.0, 840.0, 750.0, 660.0, 570.0, 480.0, 360.0),
}


def compose(
    task: ComposeTask, progress: Progress | None = None, stop: Callable[[], bool] | None = None
) -> Composition:
    """Lay all pieces on beds and schedule the beds; of all caps the one that finishes first wins.

    Parameters
    ----------
    stop : asked before each cap; once it says so, the best until then is kept

    Raises
    ------
    Infeasible
        when no piece fits any bed, or nobody is ever there to start a run
    """
    best: tuple[tuple[float, ...], Bedding, Schedule] | None = None
    for bedding in _beddings(task):
        if best is not None and stop is not None and stop():
            break
        schedule = schedule_batches(
            bedding.batches,
            task.workshop,
            task.start,
            section_of=ranks(bedding.batches, task),
            effort=task.effort,
            seed=task.seed,
        )
        score = (
            round(schedule.makespan_h, 2),
            float(schedule.interventions),
            float(schedule.changeovers),
            max(batch.minutes for batch in bedding.batches),
        )
        if best is None or score < best[0]:
            best = (score, bedding, schedule)
            if progress is not None:
                progress(schedule.makespan_h)
    if best is None:
        raise Infeasible("there is nothing to print.", next_step="Give at least one part one copy.")
    return _finished(best[1], best[2], task)


def _finished(bedding: Bedding, schedule: Schedule, task: ComposeTask) -> Composition:
    """Beds named in the order in which they run, spools given to the runs, visits written out."""
    names = {run.batch: f"bed {at}" for at, run in enumerate(schedule.runs, start=1)}
    batches = sorted((replace(b, name=names[b.name]) for b in bedding.batches), key=lambda b: int(b.name[4:]))
    runs = tuple(replace(run, batch=names[run.batch]) for run in schedule.runs)
    runs, spools = assign_spools(replace(schedule, runs=runs), batches, task.workshop)
    visits = visits_of(runs, {batch.name: batch for batch in batches}, task.workshop, task.start)
    full = replace(schedule, runs=runs, visits=visits, interventions=len(visits))
    return Composition(tuple(batches), bedding.misfits, full, spools)


def _beddings(task: ComposeTask) -> Iterator[Bedding]:
    maker = BedMaker(task)
    seen: set[tuple[Batch, ...]] = set()
    for cap in CAPS_MINUTES[task.effort]:
        bedding = maker.lay(cap)
        if not bedding.batches:
            raise Infeasible(
                "no piece fits any bed of the workshop.",
                where=bedding.misfits[0].piece if bedding.misfits else "",
                next_step=bedding.misfits[0].proposal if bedding.misfits else "Add a printer.",
            )
        if bedding.batches not in seen:
            seen.add(bedding.batches)
            yield bedding


def ranks(batches: tuple[Batch, ...], task: ComposeTask) -> dict[str, int]:
    """Build-order rank of a batch: that of its earliest section."""
    section = {piece.name: piece.section or task.parts[piece.part].section for piece in task.pieces}
    last = len(task.rank)
    return {b.name: min(task.rank.get(section[p.piece], last) for p in b.placed) for b in batches}
