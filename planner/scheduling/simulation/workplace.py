"""A timed plan and its workshop as the arrays in which worlds are lived through."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.schedule import RUNNING, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.problem.away_spans import shut_rows
from planner.scheduling.problem.calendar import (
    FIRST_HORIZON_DAYS,
    LAST_HORIZON_DAYS,
    minute_of,
    persons_by_window,
    windows,
)
from planner.scheduling.problem.problem import NOTHING_LOADED, fits_of
from planner.scheduling.simulation.presence_kernel import NOBODY, Workplace

MINUTES_PER_DAY = 24 * 60
TIMES_AS_LONG = 3  # as planned: how far a world may go before it counts as unfinished, and four weeks more


def workplace_of(
    schedule: Schedule,
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    covered: frozenset[str] = frozenset(),
) -> Workplace:
    """Beds are numbered as the runs are."""
    runs, printers = schedule.runs, workshop.printers
    named = {batch.name: batch for batch in batches}
    beds = [named[run.batch] for run in runs]
    names = [printer.name for printer in printers]
    of = np.array([names.index(run.printer) for run in runs], dtype=np.int64)
    numbers = {filament.name: n for n, filament in enumerate(workshop.filaments)}
    known = {filament.name: filament for filament in workshop.filaments}
    fit, fitted, refit = _fits(beds, of, workshop)
    days = TIMES_AS_LONG * math.ceil(max(0.0, schedule.makespan_h) / 24.0) + FIRST_HORIZON_DAYS
    days = min(days, LAST_HORIZON_DAYS)
    begins = np.array([minute_of(start, run.start) for run in runs])
    ends = np.array([minute_of(start, run.end) for run in runs])
    heats = np.array([printers[n].heat_up_minutes for n in of.tolist()])
    begun = np.array([run.mark == RUNNING for run in runs])
    minutes = np.maximum(0.0, ends - np.where(begun, 0.0, begins))
    return Workplace(
        queue=queue_of(of.tolist(), begins.tolist(), len(names)),
        minutes=minutes,
        heat_up=np.minimum(np.where(begun, np.maximum(0.0, heats + begins), heats), minutes),
        begins=begins,
        running=begun.astype(np.int32),
        material=np.array([numbers.setdefault(bed.filament, len(numbers)) for bed in beds], dtype=np.int32),
        fit=fit,
        attended=np.array([not _unattended(known.get(bed.filament)) for bed in beds], dtype=np.int32),
        watch=np.array([_watch(known.get(bed.filament)) for bed in beds]),
        loaded=np.array([numbers.get(p.loaded or "", NOTHING_LOADED) for p in printers], dtype=np.int32),
        fitted=fitted,
        covered=np.array([name in covered for name in names], dtype=np.int32),
        cool=np.array([float(math.ceil(p.cool_down_minutes)) for p in printers]),
        refit=refit,
        clear=float(workshop.clear_minutes),
        change=float(workshop.change_minutes),
        start=float(workshop.start_minutes),
        there=_rows(persons_by_window(workshop.attendance, start, days), 3),
        shut=shut_rows(workshop, start, days * MINUTES_PER_DAY).astype(np.float64),
        visits=_visits(schedule, workshop, start, days),
    )


def _rows(rows: Sequence[Sequence[int]], width: int) -> NDArray[np.float64]:
    return np.array(rows, dtype=np.float64).reshape(len(rows), width)


def queue_of(of: Sequence[int], begins: Sequence[float], printers: int) -> NDArray[np.int32]:
    """Beds by printer, as they follow each other; ``of`` has the printer of each."""
    found = np.full((printers, max(1, len(of))), NOBODY, dtype=np.int32)
    for row in range(printers):
        mine = sorted((n for n, one in enumerate(of) if one == row), key=lambda n: begins[n])
        found[row, : len(mine)] = mine
    return found


def _fits(
    beds: Sequence[Batch], of: NDArray[np.int64], workshop: Workshop
) -> tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.float64]]:
    """Nozzle and plate of each bed on its printer, those on it now, and the minutes between any two."""
    fit, fitted, refit = fits_of(beds, workshop.printers)
    if len(refit) == 0:
        count = len(workshop.printers)
        return np.zeros(len(beds), dtype=np.int32), np.zeros(count, dtype=np.int32), np.zeros((count, 1, 1))
    return fit[np.arange(len(beds)), of], fitted, refit.astype(np.float64)


def _unattended(filament: Filament | None) -> bool:
    return filament is None or filament.unattended_run


def _watch(filament: Filament | None) -> float:
    return 0.0 if filament is None else float(filament.watch_minutes)


def _visits(schedule: Schedule, workshop: Workshop, start: datetime, days: int) -> NDArray[np.float64]:
    """When each visit begins, and until when nobody is there where it is missed."""
    at = [minute_of(start, visit.at) for visit in schedule.visits]
    spans, rows = windows(workshop.attendance, start, days), []
    for n, begin in enumerate(at):
        closes = next((until for since, until in spans if since <= begin < until), begin)
        following = at[n + 1] if n + 1 < len(at) else math.inf
        rows.append((begin, min(float(closes), following)))
    return np.array(rows, dtype=np.float64).reshape(len(rows), 2)
