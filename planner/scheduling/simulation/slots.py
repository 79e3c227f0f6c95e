"""Loads of the dryers as arrays: when each goes in and comes out, and which beds wait for it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.model.drying import DryerLoad
from planner.model.schedule import RUNNING, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import minute_of
from planner.scheduling.simulation.presence_kernel import NOBODY, Dryers

MINUTES_PER_HOUR = 60.0


def slots_of(schedule: Schedule, workshop: Workshop, start: datetime) -> Dryers:
    """All loads of a schedule, and of each run those that it needs and those that it frees.

    A bed needs the last load of each spool that it draws from that is out before it begins. It frees the
    first load of each that goes in after its end: the spool is on the printer until then.
    """
    loads = sorted(schedule.drying, key=lambda load: (load.put_in.timestamp(), load.dryer))
    spans = [(minute_of(start, load.put_in), minute_of(start, load.take_out)) for load in loads]
    rows = [
        (since, until, min(until - since, _dries(load, workshop)))
        for load, (since, until) in zip(loads, spans, strict=True)
    ]
    follows = padded([_before(n, loads, spans) for n in range(len(loads))])
    of = {spool: [n for n, load in enumerate(loads) if spool in load.spools] for spool in _spools(loads)}
    needs, frees = [], []
    for run in schedule.runs:
        begin, end = minute_of(start, run.start), minute_of(start, run.end)
        mine = [of[draw.spool] for draw in run.draws if draw.spool in of]
        out = [[n for n in each if spans[n][1] <= begin] for each in mine if run.mark != RUNNING]
        later = [[n for n in each if spans[n][0] >= end] for each in mine]
        needs.append(sorted({each[-1] for each in out if each}))
        frees.append(sorted({each[0] for each in later if each}))
    times = np.array(rows, dtype=np.float64).reshape(len(rows), 3)
    return Dryers(times, follows, padded(needs), padded(frees))


def padded(rows: Sequence[Sequence[int]]) -> NDArray[np.int32]:
    """Rows of one length, -1 behind the last of each."""
    found = np.full((len(rows), max(map(len, rows), default=0)), NOBODY, dtype=np.int32)
    for n, row in enumerate(rows):
        found[n, : len(row)] = row
    return found


def _spools(loads: Sequence[DryerLoad]) -> dict[str, None]:
    return dict.fromkeys(spool for load in loads for spool in load.spools)


def _dries(load: DryerLoad, workshop: Workshop) -> float:
    return MINUTES_PER_HOUR * (workshop.filament(load.filament).dry_hours or 0.0)


def _before(n: int, loads: Sequence[DryerLoad], spans: Sequence[tuple[float, float]]) -> list[int]:
    """Loads that are out of the same dryer before this one goes in, but for those that others wait for."""
    same = [m for m in range(n) if loads[m].dryer == loads[n].dryer and spans[m][1] <= spans[n][0]]
    return [m for m in same if not any(spans[m][1] <= spans[other][0] for other in same)]
