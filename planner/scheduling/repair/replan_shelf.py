"""A plan that goes on with the spools that there are: its order and its spools are searched for together."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.model.batch import Batch
from planner.model.effort import Effort
from planner.model.schedule import Run, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import LAST_HORIZON_DAYS, minute_of, persons_by_window, windows
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.handling_windows import persons_there
from planner.scheduling.problem.problem import Tables
from planner.scheduling.repair.replan_plan import (
    Underway,
    going_on,
    tables_now,
    taken_hands,
    without,
)
from planner.scheduling.spools.shelf_search import DAYS_AT_LEAST, Reel, patience, reels_of, shelf_timing


def with_shelf(
    batches: Sequence[Batch],
    underway: Underway,
    workshop: Workshop,
    first: Schedule,
    start: datetime,
    new: Mapping[str, int],
    *,
    effort: Effort,
    seed: int,
) -> tuple[Schedule, ...]:
    """Schedules in which the open batches make do with the shelf and so many new spools, soonest first.

    What goes on keeps its printers and spools, which are free after it. Hands that are taken are left out
    of the windows. Spools are not yet given; whether they suffice where a run must be cut is not certain.

    Parameters
    ----------
    first : a schedule of the same batches, in whose order the search begins
    """
    days = min(LAST_HORIZON_DAYS, max(DAYS_AT_LEAST, math.ceil(first.makespan_h / 8.0) + 14))
    busy = taken_hands(underway, workshop, start)
    alone = [(since, until, 1) for since, until in windows(workshop.attendance, start, days)]
    spans = [(since, until) for since, until, persons in without(alone, busy) if persons > 0]
    tables = tables_now(batches, underway, workshop, start, spans, days)
    there = persons_there(tables, persons_by_window(workshop.attendance, start, days))
    began = {run.batch: run.start.timestamp() for run in first.runs}
    order = sorted(range(len(batches)), key=lambda n: (began.get(batches[n].name, math.inf), n))
    hands = there if workshop.attendance.named else None
    behind = shelf_behind(workshop, underway.runs)
    found = []
    for whole, patient in [(whole, patient) for patient in patience(workshop) for whole in (True, False)]:
        reels = _free(reels_of(batches, behind, start, new, patient=patient), underway.runs, start)
        timing = shelf_timing(
            tables, batches, workshop, reels, order, effort.shelf_steps, seed, whole=whole, hands=hands
        )
        if timing is not None and _enough_hands(timing, tables, there):
            found.append(going_on(timing, tables, batches, underway, workshop, start))
    return tuple(sorted(found, key=lambda schedule: schedule.makespan_h))


def shelf_behind(workshop: Workshop, runs: Sequence[Run]) -> Workshop:
    """The workshop with spools less what runs that go on still draw from them."""
    asked: dict[str, float] = {}
    for run in runs:
        for n, draw in enumerate(run.draws):
            asked[draw.spool] = asked.get(draw.spool, 0.0) + sum(run.charge(n))
    spools = (
        replace(spool, grams_left=max(0.0, spool.grams_left - asked.get(spool.name, 0.0)))
        for spool in workshop.spools
    )
    return replace(workshop, spools=tuple(spools))


def _free(reels: Sequence[Reel], runs: Sequence[Run], start: datetime) -> tuple[Reel, ...]:
    """Spools from which something goes on to draw are free when that is over."""
    until: dict[str, int] = {}
    for run in runs:
        for draw in run.draws:
            until[draw.spool] = max(until.get(draw.spool, 0), math.ceil(minute_of(start, run.end)))
    return tuple(replace(reel, since=max(reel.since, until.get(reel.name, 0))) for reel in reels)


def _enough_hands(timing: Timing, tables: Tables, there: NDArray[np.int32]) -> bool:
    """Whether persons with hours of their own are there for all that is done at once."""
    asked = np.zeros(len(there) + 1, dtype=np.int64)
    for batch, begin in enumerate(timing.begin.tolist()):
        until = int(timing.end[batch]) - int(tables.duration[batch, timing.printer_of[batch]])
        asked[begin] += 1
        asked[until] -= 1
    return bool((np.cumsum(asked)[: len(there)] <= there).all())
