"""The horizon of a long plan in parts, each searched by itself; then put together and repaired."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.annealing.improve import lists_state
from planner.scheduling.annealing.parts import TOGETHER, Each, Rows, Work, in_turns, rows_of
from planner.scheduling.annealing.towards import towards
from planner.scheduling.problem.dispatch import Timing
from planner.scheduling.problem.problem import Tables

LEAST = 40  # batches of a part, about
UNTIMED = 1 << 29  # a tick after every horizon


def search_horizon(
    tables: Tables, known: Timing, *, steps: int, rest: int, seed: int, each: Each | None = None
) -> Timing:
    """A timing that ends no later than a known one, whose horizon is searched in parts.

    A part has the batches that begin between two cuts, and its printers are free when those before end. It is
    to end when half of its printers do. Parts that end sooner let those after them begin sooner: their lists
    are put together, timed as a whole, and searched on for a little, as a night may now come in between.

    The same steps and seed give the same timing, whoever searches the parts and in whatever order.

    Parameters
    ----------
    steps, rest : of the search of each part, and of all together afterwards
    each : does the works; without it threads do
    """
    parts = horizon_parts(tables, known)
    if len(parts) < 2:
        return known
    works = [_work(tables, known, rows, steps, seed + n) for n, rows in enumerate(parts)]
    found = (each or in_turns)(works)
    lists: list[list[int]] = [[] for _ in tables.release]
    for rows, timing in zip(parts, found, strict=True):
        own = timing or _times_of(known, rows)
        for printer, line in enumerate(lists):
            line += rows[own.order(printer)].tolist()
    whole = timed_lists(tables, lists)
    starts = [known] if whole is None else [known, whole]
    goal = int(np.median(last_ends(tables, known)))
    made = [towards(tables, one, goal=goal, steps=rest, seed=seed, cooling=TOGETHER) for one in starts]
    return min([known, *made], key=lambda timing: timing.finish)


def horizon_parts(tables: Tables, known: Timing) -> tuple[Rows, ...]:
    """Batches by when they begin, about as many in each part; one part where they are few."""
    count = len(tables.material) // LEAST
    if count < 2 or len(tables.setup):
        return (np.arange(len(tables.material)),)
    order = np.argsort(known.begin, kind="stable")
    return tuple(np.sort(one) for one in np.array_split(order, count))


def last_ends(tables: Tables, timing: Timing) -> NDArray[np.int64]:
    """The tick at which each printer ends; those that do nothing are left out."""
    ends = np.zeros(len(tables.release), dtype=np.int64)
    np.maximum.at(ends, timing.printer_of, timing.end)
    return ends[ends > 0]


def timed_lists(tables: Tables, lists: Sequence[Sequence[int]]) -> Timing | None:
    """Ordered lists timed anew, the printer that is ready first going first; None where there is no room."""
    from planner.scheduling.annealing.anneal_kernel import scratch_for
    from planner.scheduling.annealing.late_kernel import retime_late

    state, printers = lists_state(tables, lists), len(tables.release)
    scratch, weights = scratch_for(state), np.ones(6)
    scratch.who[:] = np.arange(printers)
    if not retime_late(tables, state, scratch, printers, weights, UNTIMED, 1e18):
        return None
    for printer, line in enumerate(lists):
        state.printer_of[list(line)] = printer
    return Timing(state.printer_of, state.begin, state.end)


def _times_of(known: Timing, rows: Rows) -> Timing:
    return Timing(known.printer_of[rows], known.begin[rows], known.end[rows])


def _work(tables: Tables, known: Timing, rows: Rows, steps: int, seed: int) -> Work:
    """One part: its batches, and the printers as those before it leave them."""
    since = int(known.begin[rows].min())
    release, loaded, covered = tables.release.copy(), tables.loaded.copy(), tables.covered.copy()
    fitted = tables.fitted.copy()
    mine = set(rows.tolist())
    for printer in range(len(release)):
        before = [b for b in known.order(printer) if b not in mine and known.begin[b] <= since]
        if before:
            last = before[-1]
            release[printer] = known.end[last] + tables.cool[printer]
            loaded[printer], covered[printer] = tables.material[last], 1
            if len(fitted):
                fitted[printer] = tables.fit[last, printer]
    own = rows_of(tables, rows, np.arange(len(release)), tables.persons)
    own = own._replace(release=release, loaded=loaded, covered=covered, fitted=fitted)
    first = _times_of(known, rows)
    return Work(own, int(np.median(last_ends(own, first))), steps, seed, first)
