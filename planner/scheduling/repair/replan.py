"""A schedule that goes on from an earlier one: as few batches moved as a tolerated delay allows."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from planner.errors import Infeasible
from planner.model.effort import NORMAL, Effort
from planner.scheduling.annealing.improve import Weights, improve
from planner.scheduling.problem.dispatch import Timing, dispatch
from planner.scheduling.problem.handling_windows import NO_BATCH, Desk, persons_there
from planner.scheduling.problem.placing import Placing, Was, place
from planner.scheduling.problem.problem import Tables
from planner.scheduling.repair.replan_model import MoveModel
from planner.scheduling.repair.replan_repair import Repair

LOOSE = 30  # batches that the exact model may move
TAILS = (4, 8, 12, 16, 24)
MODELLED = 600  # batches up to which the exact model looks at a part of them
WEIGHTS = Weights(change=0.01, early=0.003)


@dataclass(frozen=True, slots=True)
class Replanned:
    """The timing, which batches stayed, the finish with all free to move; proved: no fewer can move."""

    timing: Timing
    kept: tuple[bool, ...]
    best: int
    proved: bool


def replan(
    tables: Tables,
    was: Was,
    *,
    tolerance: int,
    effort: Effort = NORMAL,
    seed: int = 1,
    there: Sequence[tuple[int, int, int]] | None = None,
    steps: int | None = None,
) -> Replanned:
    """Fewest batches moved subject to a finish of at most the best found with all free, and the tolerance.

    Parameters
    ----------
    was : printer and start of each batch in the earlier schedule, ``None`` for a new one
    tolerance : ticks
    there : persons by segments of ticks, where they differ within the windows

    Raises
    ------
    Infeasible
        when the attendance has no room for all batches
    """
    desk = Desk(tables, persons_there(tables, there))
    if not was:
        return Replanned(Timing(*(np.zeros(0, dtype=np.int32) for _ in range(3))), (), 0, True)
    free = _free(desk, was, effort.replan_steps if steps is None else steps, seed)
    cap = free.finish + tolerance
    placings = min(effort.replan_placings, max(10, effort.replan_placed_beds // len(was)))
    known = Repair(desk, was, cap, placings).run()
    if known is not None and known.finish < free.finish:
        cap = known.finish + tolerance
        free = known
    if known is None or known.finish > cap:
        known = free
    best = free.finish
    proved = known.moved <= was.count(None)
    if len(was) <= MODELLED:
        known, proved = _fewest(desk, was, cap, known, effort.replan_solver_time)
    return Replanned(_timing(known, tables), known.kept, min(best, known.finish), proved)


def _fewest(desk: Desk, was: Was, cap: int, known: Placing, effort: float) -> tuple[Placing, bool]:
    """Exact models over growing tails of the plan, then over what had to move, at last over all.

    New batches must move, and those that cannot stay, so that no more moves than those are proved fewest at
    once.
    """
    left, cannot = effort, stuck(desk, was)
    must = was.count(None) + len(cannot)
    for loose in neighbourhoods(was, known, cannot):
        if known.moved <= must or left <= 0.0:
            break
        model = MoveModel(desk, was, cap, loose)
        found, proved, taken = model.solve(min(left, effort / 3.0), known.moved)
        known, left = found or known, left - taken
        if proved and len(loose) == len(was):
            return known, True
    return known, known.moved <= must


def stuck(desk: Desk, was: Was) -> set[int]:
    """Batches that cannot stay wherever the others go: begun too soon, or nobody or nothing is there then."""
    return {batch for batch, old in enumerate(was) if old is not None and not _can_stay(desk, batch, *old)}


def _can_stay(desk: Desk, batch: int, printer: int, start: int) -> bool:
    """Alone on its printer, after nothing or after a bed like itself, whichever is handled sooner."""
    least = min(desk.handling(printer, batch, before) for before in (NO_BATCH, batch))
    begin = start - least
    if begin < desk.tables.release[printer]:
        return False
    return desk.free_at(desk.there, printer, batch, least, begin) == begin


def neighbourhoods(was: Was, known: Placing, cannot: set[int]) -> Iterator[set[int]]:
    """Batches that an exact model may move: new ones and so many of the last; those that moved; all.

    Those that cannot stay are always among them, or there is no answer.
    """
    for tail in TAILS:
        loose = _loose(was, tail) | cannot
        if len(loose) <= LOOSE:
            yield loose
    for tail in (0, *TAILS):
        loose = _loose(was, tail) | cannot | {b for b, kept in enumerate(known.kept) if not kept}
        if len(was) > LOOSE >= len(loose):
            yield loose
    if len(was) <= LOOSE:
        yield set(range(len(was)))


def _free(desk: Desk, was: Was, steps: int, seed: int) -> Placing:
    """All batches free to move."""
    tables = desk.tables
    first = dispatch(tables)
    if first is None:
        raise Infeasible(
            "the attendance has no room to handle all batches that are left.",
            where="attendance",
            next_step="Add or lengthen attendance windows.",
        )
    timing = improve(tables, first, steps=steps, seed=seed, weights=WEIGHTS)
    lines = tuple(tuple(timing.order(printer)) for printer in range(len(tables.release)))
    found = place(desk, lines, [None] * len(was))
    if found is None:
        raise Infeasible(
            "the attendance has no room to handle all batches that are left.", where="attendance"
        )
    where = {batch: printer for printer, line in enumerate(lines) for batch in line}
    kept = tuple(old == (where[b], found.start[b]) for b, old in enumerate(was))
    return Placing(found.lines, found.begin, found.start, kept, found.finish)


def _loose(was: Was, tail: int) -> set[int]:
    """New batches, and so many of those that began last."""
    old = sorted(
        (b for b, place_ in enumerate(was) if place_ is not None), key=lambda b: (-_start(was, b), b)
    )
    return {*(b for b, place_ in enumerate(was) if place_ is None), *old[:tail]}


def _start(was: Was, batch: int) -> int:
    place_ = was[batch]
    return -1 if place_ is None else place_[1]


def _timing(placing: Placing, tables: Tables) -> Timing:
    count = len(placing.start)
    timing = Timing(*(np.zeros(count, dtype=np.int32) for _ in range(3)))
    for printer, line in enumerate(placing.lines):
        for batch in line:
            timing.printer_of[batch], timing.begin[batch] = printer, placing.begin[batch]
            timing.end[batch] = placing.start[batch] + tables.duration[batch, printer]
    return timing
