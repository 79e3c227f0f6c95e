"""Batches in an order, each to the printer and the spool with which it ends first (compiled)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.annealing.moves_kernel import draw, pick, seeded
from planner.scheduling.problem.decode_kernel import NEVER, mark, place
from planner.scheduling.problem.jit_no_refcount import jit_refcount
from planner.scheduling.problem.problem import Ints, Tables

Counts = NDArray[np.int64]
NOWHERE = -1
LATER = 1e-4  # weight of the mean end beside the finish


class Shelf(NamedTuple):
    """Spools, what is on each, and what the batches take; masses in hundredths of a gram."""

    material: Ints  # (spools,)
    left: Counts  # (spools,)
    since: Ints  # (spools,) tick from which it is at hand
    need: Counts  # (batches,) with the purge of a run
    purge: int  # more where the filament on the printer is another one
    taken: Ints  # (ticks of ``busy``,) hands of the most that ever are there, and are not in that tick


@jit_refcount
def timed_by_spool(
    t: Tables, f: Shelf, order: Ints, busy: Ints, printer_of: Ints, begin: Ints, end: Ints, spool_of: Ints
) -> float:
    """Time the batches in their order; a spool is on one printer at a time and gives what is on it.

    Where persons have hours of their own, no more hands are asked for than are there (``taken``): whoever
    timed the runs again for that would part them from the spools that they wait for.

    Returns the finish and a little of the mean end, or a negative number where a batch has no room.
    """
    printers, spools = t.release.shape[0], f.left.shape[0]
    ready, left = t.release.copy(), f.left.copy()
    free, on = f.since.copy(), np.full(spools, NOWHERE, np.int32)
    before = np.full(printers, NOWHERE, np.int32)
    for tick in range(busy.shape[0]):
        busy[tick] = f.taken[tick]
    finish, total = 0, 0.0
    for batch in order:
        best_p, best_s, best_at, best_block, best_end, best_stays = NOWHERE, NOWHERE, 0, 0, 0, False
        for p in range(printers):
            if t.duration[batch, p] < 0:
                continue
            loaded = t.material[before[p]] if before[p] >= 0 else t.loaded[p]
            need = f.need[batch] + (f.purge if loaded >= 0 and loaded != t.material[batch] else 0)
            for s in range(spools):
                if f.material[s] != t.material[batch] or left[s] < need:
                    continue
                soonest = max(ready[p], f.since[s] if on[s] == p else free[s])
                at, block, ends = place(t, busy, p, batch, before[p], soonest)
                if at == NEVER:
                    continue
                better = best_p < 0 or ends < best_end
                if not better and ends == best_end:
                    better = (on[s] == p and not best_stays) or (
                        (on[s] == p) == best_stays and left[s] < left[best_s]
                    )
                if better:
                    best_p, best_s, best_at, best_block, best_end = p, s, at, block, ends
                    best_stays = on[s] == p
        if best_p < 0:
            return -1.0
        loaded = t.material[before[best_p]] if before[best_p] >= 0 else t.loaded[best_p]
        left[best_s] -= f.need[batch] + (f.purge if loaded >= 0 and loaded != t.material[batch] else 0)
        mark(busy, best_at, best_block, 1)
        printer_of[batch], begin[batch], end[batch], spool_of[batch] = best_p, best_at, best_end, best_s
        ready[best_p] = best_end + t.cool[best_p]
        before[best_p] = batch
        free[best_s], on[best_s] = best_end, best_p
        finish = max(finish, best_end)
        total += best_end
    return float(finish + LATER * total / max(1, order.shape[0]))


@jit_refcount
def best_order(
    t: Tables,
    f: Shelf,
    order: Ints,
    steps: int,
    seed: int,
    busy: Ints,
    printer_of: Ints,
    begin: Ints,
    end: Ints,
    spool_of: Ints,
) -> float:
    """Anneal the order in place; the rows are left as the best order gives them.

    Orders that have no room are met on the way to one that has: they count more than any finish.
    """
    random = seeded(seed)
    count = order.shape[0]
    best, tried = order.copy(), order.copy()
    cost = timed_by_spool(t, f, order, busy, printer_of, begin, end, spool_of)
    none = 10.0 * t.window_at.shape[0]
    cost = none if cost < 0.0 else cost
    best_cost = cost
    hot = 0.03
    for step in range(steps if count > 1 else 0):
        heat = hot * (1.0 - step / steps) * min(best_cost, 1e6) + 1e-9
        for n in range(count):
            tried[n] = order[n]
        a, b = pick(random, count), pick(random, count)
        if draw(random) < 0.5:
            tried[a], tried[b] = tried[b], tried[a]
        else:
            moved, step_to = tried[a], 1 if b > a else -1
            while a != b:
                tried[a] = tried[a + step_to]
                a += step_to
            tried[b] = moved
        new = timed_by_spool(t, f, tried, busy, printer_of, begin, end, spool_of)
        new = none if new < 0.0 else new
        if new <= cost - heat * np.log(1.0 - draw(random)):
            for n in range(count):
                order[n] = tried[n]
            cost = new
            if new < best_cost:
                best_cost = new
                for n in range(count):
                    best[n] = tried[n]
    for n in range(count):
        order[n] = best[n]
    return float(timed_by_spool(t, f, order, busy, printer_of, begin, end, spool_of))
