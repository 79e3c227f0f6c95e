"""A schedule that makes do with the spools that there are, and with so many new ones."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from planner.model.batch import Batch
from planner.model.effort import Effort
from planner.model.schedule import Schedule
from planner.model.workshop import Workshop
from planner.scheduling.plan import timed_schedule
from planner.scheduling.problem.away_spans import minutes_away
from planner.scheduling.problem.calendar import LAST_HORIZON_DAYS, minute_of, persons_by_window, windows
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.handling_windows import persons_there
from planner.scheduling.problem.problem import Ints, Tables, compile_tables
from planner.scheduling.spools.reels import at_hand, units
from planner.scheduling.spools.spools import assign_spools

DAYS_AT_LEAST = 28
PLENTY = 1 << 40
MINUTES_PER_DAY = 24 * 60


@dataclass(frozen=True, slots=True)
class ShelfTask:
    """Beds that are laid, a schedule of them, and with what the search goes on."""

    batches: tuple[Batch, ...]
    schedule: Schedule
    workshop: Workshop
    start: datetime
    effort: Effort
    seed: int


@dataclass(frozen=True, slots=True)
class Reel:
    """A spool as the search sees it: hundredths of a gram on it, and the tick from which it is free."""

    name: str
    filament: str
    left: int
    since: int


def with_spools(task: ShelfTask, new: Mapping[str, int]) -> Schedule | None:
    """The soonest schedule found that buys no more than so many new spools of each filament.

    Order, printer and spool of every bed are searched for together: beds that share the last spool run one
    after another, or the spool changes printers at a visit. Where no spool holds a whole bed, runs are cut
    as `assign_spools` cuts them.

    Source of the method: list scheduling (Graham 1969) over an annealed order; the spools are a second
    resource beside the printers. Nothing is proved of the finish.

    Returns
    -------
    ``None`` when none was found
    """
    found = []
    ways = [(whole, patient) for patient in patience(task.workshop) for whole in (True, False)]
    for whole, patient in ways:  # every bed from one spool first; then cut where somebody is there
        timing = _searched(task, new, whole=whole, patient=patient)
        if timing is None:
            continue
        schedule = timed_schedule(task.batches, timing, task.workshop, task.start)
        if _buys_within(schedule, task, new):
            found.append(schedule)
    return min(found, key=lambda schedule: schedule.makespan_h, default=None)


def bought_of(schedule: Schedule, batches: Sequence[Batch], workshop: Workshop) -> Counter[str]:
    """New spools of each filament that a schedule asks for."""
    _, uses = assign_spools(schedule, batches, workshop)
    return Counter(use.filament for use in uses if use.bought)


def least_by_grams(batches: Sequence[Batch], workshop: Workshop) -> dict[str, int]:
    """New spools of each filament without which the grams do not suffice, however the beds are dealt out."""
    need: dict[str, int] = {}
    for batch in batches:
        need[batch.filament] = need.get(batch.filament, 0) + units(batch.mass_g + workshop.run_purge_g)
    shelf: dict[str, int] = {}
    for spool in workshop.spools:
        shelf[spool.filament] = shelf.get(spool.filament, 0) + units(spool.grams_left)
    full = {name: units(workshop.filament(name).spool_g) for name in need}
    return {name: max(0, -(-(grams - shelf.get(name, 0)) // full[name])) for name, grams in need.items()}


def _buys_within(schedule: Schedule, task: ShelfTask, new: Mapping[str, int]) -> bool:
    bought = bought_of(schedule, task.batches, task.workshop)
    return all(number <= new.get(name, 0) for name, number in bought.items())


def patience(workshop: Workshop) -> tuple[bool, ...]:
    """Where a spool goes away later, once as if it stayed, and once as if it came only after that."""
    return (False, True) if any(spool.away for spool in workshop.spools) else (False,)


def _searched(task: ShelfTask, new: Mapping[str, int], *, whole: bool, patient: bool) -> Timing | None:
    workshop, batches = task.workshop, task.batches
    minutes = sum(batch.minutes for batch in batches) + 60.0 * task.schedule.makespan_h
    days = min(LAST_HORIZON_DAYS, max(DAYS_AT_LEAST, math.ceil(2.0 * minutes / MINUTES_PER_DAY) + 14))
    spans = windows(workshop.attendance, task.start, days)
    tables = compile_tables(batches, workshop, spans, days * MINUTES_PER_DAY, {}, {}, task.start)
    began = {run.batch: run.start.timestamp() for run in task.schedule.runs}
    order = sorted(range(len(batches)), key=lambda n: (began.get(batches[n].name, math.inf), n))
    reels = reels_of(batches, workshop, task.start, new, patient=patient)
    there = persons_by_window(workshop.attendance, task.start, days) if workshop.attendance.named else None
    hands = None if there is None else persons_there(tables, there)
    steps = task.effort.shelf_steps
    return shelf_timing(tables, batches, workshop, reels, order, steps, task.seed, whole=whole, hands=hands)


def reels_of(
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    new: Mapping[str, int],
    *,
    patient: bool = False,
) -> tuple[Reel, ...]:
    """What lies on the shelf for these batches, and so many new spools of each filament.

    Parameters
    ----------
    patient : a spool that goes away later is waited for, too, not only one that is away now
    """
    used = {batch.filament for batch in batches}
    found: list[Reel] = []
    for spool in workshop.spools:
        since = at_hand(spool, workshop.attendance, start)
        tick = 0 if since is None else max(0, math.ceil(minute_of(start, since)))
        gone = [
            back
            for begin, back in minutes_away(spool.away, workshop, start, LAST_HORIZON_DAYS * MINUTES_PER_DAY)
            if patient or begin <= tick
        ]
        tick = max([tick, *gone])
        if spool.filament in used and spool.grams_left > 0.0 and tick < LAST_HORIZON_DAYS * MINUTES_PER_DAY:
            found.append(Reel(spool.name, spool.filament, units(spool.grams_left), tick))
    for name in sorted(used):
        found += [Reel("", name, units(workshop.filament(name).spool_g), 0)] * new.get(name, 0)
    return tuple(found)


def shelf_timing(
    tables: Tables,
    batches: Sequence[Batch],
    workshop: Workshop,
    reels: Sequence[Reel],
    order: Sequence[int],
    steps: int,
    seed: int,
    *,
    whole: bool,
    hands: Ints | None = None,
) -> Timing | None:
    """Times of the batches with no more than these spools.

    Parameters
    ----------
    whole : every bed comes from one spool
    hands : persons in each tick, where some have hours of their own; else always as many as ever are there
    """
    from planner.scheduling.spools.shelf_kernel import Shelf, best_order

    if not reels:
        return None
    number = {filament.name: n for n, filament in enumerate(workshop.filaments)}
    shelf = Shelf(
        material=np.array([number[reel.filament] for reel in reels], dtype=np.int32),
        left=np.array([reel.left if whole else PLENTY for reel in reels], dtype=np.int64),
        since=np.array([reel.since for reel in reels], dtype=np.int32),
        need=np.array([units(b.mass_g) + units(workshop.run_purge_g) for b in batches], dtype=np.int64),
        purge=units(workshop.change_purge_g),
        taken=_taken(tables, hands),
    )
    made = [np.zeros(len(batches), dtype=np.int32) for _ in range(4)]
    busy = np.zeros_like(shelf.taken)
    cost = best_order(tables, shelf, np.array(order, dtype=np.int32), steps, seed, busy, *made)
    return None if cost < 0.0 else Timing(*made[:3])


def _taken(tables: Tables, hands: Ints | None) -> Ints:
    ticks = tables.window_at.shape[0] + 1
    if hands is None:
        return np.zeros(ticks, dtype=np.int32)
    return np.maximum(0, tables.persons - hands[:ticks]).astype(np.int32)
