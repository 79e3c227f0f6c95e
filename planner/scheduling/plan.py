"""Batches and a workshop in, a schedule out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from datetime import datetime

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.effort import Effort
from planner.model.schedule import Schedule
from planner.model.workshop import Workshop
from planner.scheduling.annealing.improve import SMALL_WORKSHOP, Cooling, Weights, changes_of, ease, improve
from planner.scheduling.annealing.parts import search_in_parts
from planner.scheduling.annealing.towards import towards
from planner.scheduling.bounds.bound import area_bound
from planner.scheduling.bounds.exact_model import exact_finish
from planner.scheduling.bounds.slot_bound import slot_bound
from planner.scheduling.problem.away_spans import nothing_left
from planner.scheduling.problem.calendar import FIRST_HORIZON_DAYS, LAST_HORIZON_DAYS, Window, windows
from planner.scheduling.problem.dispatch import Timing, dispatch
from planner.scheduling.problem.problem import Tables, compile_tables
from planner.scheduling.timetable import runs_of, schedule_of

MINUTES_PER_DAY = 24 * 60
WEIGHTS = Weights(change=0.01, early=0.003, power=32.0)
COOLING = Cooling(0.1, 0.002)
EASE_TIMES = 3  # the steps of the search, for fewer changes of filament from what it found
AMBITION = 0.96  # of the finish that was found, for a large workshop to end by
EXACT_FROM = 5.0  # proof time from which the exact model is asked, too; before, it proves nothing more
SLOT_SHARE = 0.4  # of the proof time then


def schedule_batches(
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    *,
    section_of: Mapping[str, int],
    effort: Effort,
    seed: int,
    steps: int | None = None,
) -> Schedule:
    """Runs of all batches within attendance, finishing as early as the search finds.

    Every start is attended: the bed must be cleared by a person first. A filament's ``unattended_start``
    could only be used on an empty bed with that filament on, and is not.

    Parameters
    ----------
    section_of : rank of each batch in the build order, lower is wanted earlier
    effort : how many steps the search takes
    steps : steps of the search, instead of those that the effort stands for

    Raises
    ------
    Infeasible
        when a batch has no printer, or nobody is there long enough to handle it
    """
    steps = effort.schedule_steps if steps is None else steps
    return next(schedule_ways(batches, workshop, start, section_of=section_of, steps=steps, seed=seed))


def schedule_ways(
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    *,
    section_of: Mapping[str, int],
    steps: int,
    seed: int,
) -> Iterator[Schedule]:
    """The schedule of `schedule_batches`; then one with fewer changes of filament that ends no later, if any.

    Raises
    ------
    Infeasible
        as for `schedule_batches`
    """
    tables, first = problem_of(batches, workshop, start, section_of)
    bound = area_bound(tables) if batches else None
    timing = improve(tables, first, steps=steps, seed=seed, weights=WEIGHTS, cooling=COOLING)
    if len(workshop.printers) > SMALL_WORKSHOP and not workshop.attendance.named:
        timing = _sooner(tables, timing, steps, seed)
    yield schedule_of(runs_of(timing, tables, batches, workshop, start), batches, workshop, start, bound)
    eased = ease(tables, timing, steps=EASE_TIMES * steps, seed=seed)
    if changes_of(tables, eased) < changes_of(tables, timing):
        with suppress(Infeasible):  # persons with hours of their own may not be there for this one
            runs = runs_of(eased, tables, batches, workshop, start)
            yield schedule_of(runs, batches, workshop, start, bound)


def problem_of(
    batches: Sequence[Batch], workshop: Workshop, start: datetime, section_of: Mapping[str, int]
) -> tuple[Tables, Timing]:
    """The tables of batches, over a horizon in which there is room for them, and a first timing.

    Raises
    ------
    Infeasible
        as for `schedule_batches`
    """
    return _first_feasible(batches, workshop, start, _early_weights(batches, section_of))


def goal_of(tables: Tables, found: Timing) -> int:
    """The tick that a large workshop is searched to end by, once a timing is found."""
    return max(area_bound(tables), math.floor(AMBITION * found.finish))


def _sooner(tables: Tables, found: Timing, steps: int, seed: int) -> Timing:
    """In a large workshop, one that ends before what was found, or that: in parts, and towards a finish."""
    goal = goal_of(tables, found)
    parted = search_in_parts(tables, goal=goal, steps=steps, rest=steps, seed=seed)
    whole = towards(tables, found, goal=goal, steps=steps, seed=seed, weights=WEIGHTS)
    return min((one for one in (found, whole, parted) if one is not None), key=lambda one: one.finish)


def timed_schedule(batches: Sequence[Batch], timing: Timing, workshop: Workshop, start: datetime) -> Schedule:
    """The schedule of batches whose printers and times (minutes after the start) are known."""
    days = min(LAST_HORIZON_DAYS, max(FIRST_HORIZON_DAYS, 2 * timing.finish // MINUTES_PER_DAY + 1))
    spans = windows(workshop.attendance, start, days)
    tables = compile_tables(batches, workshop, spans, days * MINUTES_PER_DAY, {}, {}, start)
    runs = runs_of(timing, tables, batches, workshop, start)
    return schedule_of(runs, batches, workshop, start, area_bound(tables) if batches else None)


def beds_bound(
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    finish_minutes: int,
    effort: Effort,
    seed: int,
) -> int:
    """Minutes before which no schedule of these beds ends; proved, and never above a finish that is known."""
    days = min(LAST_HORIZON_DAYS, max(FIRST_HORIZON_DAYS, 2 * finish_minutes // MINUTES_PER_DAY + 1))
    spans = windows(workshop.attendance, start, days)
    tables = compile_tables(batches, workshop, spans, days * MINUTES_PER_DAY, {}, {}, start)
    if effort.proof_time == 0.0:
        return min(finish_minutes, area_bound(tables))
    if effort.proof_time < EXACT_FROM:
        return slot_bound(tables, finish_minutes, effort=effort.proof_time, seed=seed)
    low = slot_bound(tables, finish_minutes, effort=SLOT_SHARE * effort.proof_time, seed=seed)
    left = (1.0 - SLOT_SHARE) * effort.proof_time
    return exact_finish(tables, low, finish_minutes, effort=left, seed=seed).bound


def _early_weights(batches: Sequence[Batch], section_of: Mapping[str, int]) -> dict[str, float]:
    """1 for the first section in the build order down to 0 for the last."""
    ranks = sorted({section_of.get(batch.name, 0) for batch in batches})
    step = 1.0 / max(1, len(ranks) - 1)
    weight = {rank: 1.0 - step * n for n, rank in enumerate(ranks)}
    return {batch.name: weight[section_of.get(batch.name, 0)] for batch in batches}


def _first_feasible(
    batches: Sequence[Batch], workshop: Workshop, start: datetime, early: Mapping[str, float]
) -> tuple[Tables, Timing]:
    """Tables over a horizon in which the first dispatch has room, and twice that to search in."""
    days = FIRST_HORIZON_DAYS
    while True:
        spans = windows(workshop.attendance, start, days)
        tables = compile_tables(batches, workshop, spans, days * MINUTES_PER_DAY, early, {}, start)
        timing = dispatch(tables)
        if timing is not None and timing.finish * 2 < days * MINUTES_PER_DAY:
            return tables, timing
        gone = None if timing is not None else nothing_left(batches, workshop, start, days * MINUTES_PER_DAY)
        hopeless = timing is None and (gone is not None or _hopeless(batches, workshop, spans))
        if days >= LAST_HORIZON_DAYS or hopeless:
            if timing is not None:
                return tables, timing
            raise gone or _no_room(batches, workshop, spans)
        days = min(2 * days, LAST_HORIZON_DAYS)


def _hopeless(batches: Sequence[Batch], workshop: Workshop, spans: Sequence[Window]) -> bool:
    """Whether the calendar of four weeks shows that a weekly pattern will never have room."""
    there = workshop.attendance
    as_ever = not (there.dates or there.away or there.absences)
    return as_ever and _too_long(batches, workshop, spans) is not None


def _too_long(
    batches: Sequence[Batch], workshop: Workshop, spans: Sequence[Window]
) -> tuple[Batch, int, int] | None:
    """A batch that needs a longer stretch of attendance than there is: minutes needed and there."""
    longest = max((until - since for since, until in spans), default=0)
    for batch in batches:
        filament = workshop.filament(batch.filament)
        need = workshop.start_minutes + (0 if filament.unattended_run else batch.minutes)
        need = max(need, workshop.start_minutes + min(filament.watch_minutes, batch.minutes))
        if need > longest:
            return batch, round(need), longest
    return None


def _no_room(batches: Sequence[Batch], workshop: Workshop, spans: Sequence[Window]) -> Infeasible:
    found = _too_long(batches, workshop, spans)
    if found is None:
        return Infeasible(
            "the attendance has no room to handle all batches: clearing, changing filament, starting and"
            " watching the first layers must fit into one window each time.",
            where="attendance",
            next_step="Add or lengthen attendance windows, or shorten the handling minutes.",
        )
    batch, need, longest = found
    why = (
        "must be handled and watched at the start"
        if workshop.filament(batch.filament).unattended_run
        else f"may not run unattended in {batch.filament!r}"
    )
    return Infeasible(
        f"batch {batch.name!r} {why} and needs somebody there for {need} min on end;"
        f" the longest window is {longest} min.",
        where="attendance",
        next_step="Lengthen a window, split the batch, or choose another filament.",
    )
