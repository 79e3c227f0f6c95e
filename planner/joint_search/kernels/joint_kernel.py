"""Annealing over pieces, beds and sequence at once (compiled).

All printers are timed again after each move: a workshop in which one person walks about has few beds.
``t`` is the calendar, ``j`` what the goals need to know, ``w`` room for one timing; else as in `bed_kernel`.

Source of the method: Kirkpatrick, Gelatt, Vecchi, Optimization by simulated annealing, Science 220 (1983).
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from planner.compiled.jit import compiled
from planner.joint_search.kernels.bed_kernel import (
    Beds,
    Floats,
    Ints,
    Memo,
    NoGoodArrays,
    Pieces,
    bed_ticks,
    keep,
    restore,
)
from planner.joint_search.kernels.move_kernel import move
from planner.joint_search.kernels.objective_kernel import ObjectiveData, evaluate
from planner.joint_search.objectives import FINISH
from planner.scheduling.annealing.moves_kernel import draw, seeded
from planner.scheduling.problem.decode_kernel import NEVER, mark, place
from planner.scheduling.problem.problem import Tables

HOPELESS = 1e300
RESCALE_STEPS = 256


class Bench(NamedTuple):
    """Room for one timing."""

    busy: Ints  # (ticks,)
    ready: Ints  # (printers,)
    at: Ints  # (printers,)
    length: Ints  # (beds,) ticks of printing
    spans: Ints  # (3, beds + printers) begin of handling, start, end of watching
    values: Floats  # (goals,)
    rest: Ints  # (printers,)


@compiled()
def p_norm(ticks: float, j: ObjectiveData) -> float:
    """A steep power of the end of a printer: its sum is near the largest, but smooth."""
    x = float(ticks / j.ticks_per_hour / j.scale_hours[0])
    power = 1.0
    while power < j.power:
        x = x * x
        power = power + power
    return x


@compiled()
def start(t: Tables, c: Pieces, b: Beds, j: ObjectiveData, memo: Memo, w: Bench) -> bool:
    """Lengths of all beds, and what is left of every list; handling counts with its least ticks.

    Whether no bed lasts too long, and no pair that belongs on one bed is parted.
    """
    if j.together:
        for n in range(j.pairs.shape[0]):
            if b.bed_of[j.pairs[n, 0]] != b.bed_of[j.pairs[n, 1]]:
                return False
    sound = True
    for p in range(b.lengths.shape[0]):
        w.ready[p], w.at[p], w.rest[p] = t.release[p], 0, 0
        for n in range(b.lengths[p]):
            bed = b.lines[p, n]
            w.length[bed] = bed_ticks(c, b, memo, bed, c.kind_of[p])
            sound = sound and w.length[bed] <= c.longest[c.kind_of[p], b.family[bed]]
            w.rest[p] += w.length[bed] + t.start
            if n > 0:
                w.rest[p] += t.clear + t.cool[p]
    return sound


@compiled()
def run_all(t: Tables, c: Pieces, b: Beds, j: ObjectiveData, w: Bench, limit: float) -> tuple[int, float]:
    """Time the lists, the printer that is ready first going first; how many beds ran, cost of the ends."""
    printers = b.lengths.shape[0]
    latest = j.ceiling[FINISH] * j.ticks_per_hour + 1e-6
    price = j.factor[FINISH]
    cost = 0.0
    for p in range(printers):
        cost += price * p_norm(w.ready[p] + w.rest[p], j)
    done = 0
    while cost <= limit:
        p = -1
        for q in range(printers):
            if w.at[q] < b.lengths[q] and (p < 0 or w.ready[q] < w.ready[p]):
                p = q
        if p < 0:
            return done, cost
        if w.ready[p] + w.rest[p] > latest:
            break
        n = w.at[p]
        bed = b.lines[p, n]
        family = b.family[bed]
        before = b.family[b.lines[p, n - 1]] if n > 0 else -1
        t.duration[family, p] = w.length[bed]  # the tables know families, beds only here
        begins, block, end = place(t, w.busy, p, family, before, w.ready[p])
        if begins == NEVER or end > latest:
            break
        mark(w.busy, begins, block, 1)
        w.spans[0, done], w.spans[1, done] = begins, begins + block
        w.spans[2, done] = begins + block + min(t.watch[family], w.length[bed])
        done += 1
        b.end[bed] = end
        cost -= price * p_norm(w.ready[p] + w.rest[p], j)
        w.rest[p] -= w.length[bed] + t.start + (t.clear if n > 0 else 0)
        w.ready[p] = end
        cost += price * p_norm(end + w.rest[p], j)
        if n + 1 < b.lengths[p]:
            w.rest[p] -= t.cool[p]
            w.ready[p] = end + t.cool[p]
        w.at[p] = n + 1
    for m in range(done):
        mark(w.busy, w.spans[0, m], w.spans[1, m] - w.spans[0, m], -1)
    return -1, HOPELESS


@compiled()
def timed(t: Tables, c: Pieces, b: Beds, j: ObjectiveData, memo: Memo, w: Bench, limit: float) -> float:
    """Cost of the lists, timed from the start, with all goals in the bench; HOPELESS above the limit."""
    if not start(t, c, b, j, memo, w):
        return HOPELESS
    done, cost = run_all(t, c, b, j, w, limit)
    if done < 0:
        return HOPELESS
    for m in range(done):
        mark(w.busy, w.spans[0, m], w.spans[1, m] - w.spans[0, m], -1)
    evaluate(t, c, b, j, w.length, w.spans, done, w.values)
    for k in range(j.factor.shape[0]):
        if w.values[k] > j.ceiling[k] + 1e-9:
            return HOPELESS
        if k != FINISH:
            cost += j.factor[k] * w.values[k]
    return cost if cost <= limit else HOPELESS


@compiled(nogil=True)
def anneal_jointly(
    t: Tables,
    c: Pieces,
    u: NoGoodArrays,
    b: Beds,
    j: ObjectiveData,
    memo: Memo,
    w: Bench,
    first_goal: int,
    steps: int,
    hot: float,
    cold: float,
    seed: int,
) -> Floats:
    """Improve the beds in place; they are left as the best met, and timed. Returns the goals of the best.

    Best is the least value of the first goal, then the least cost.
    """
    random = seeded(seed)
    tail = np.zeros(b.members.shape[0], np.int32)
    old_of, old_lines, old_lengths = b.bed_of.copy(), b.lines.copy(), b.lengths.copy()
    best_of, best_lines, best_lengths = b.bed_of.copy(), b.lines.copy(), b.lengths.copy()
    cost = timed(t, c, b, j, memo, w, HOPELESS)
    best_cost, best = cost, w.values.copy()
    factor = (cold / hot) ** (1.0 / max(1, steps))
    heat = hot
    for step in range(steps):
        heat *= factor
        if step % RESCALE_STEPS == 0 and best[FINISH] < j.scale_hours[0]:
            j.scale_hours[0] = max(best[FINISH], 1e-3)
            cost = timed(t, c, b, j, memo, w, HOPELESS)
            best_cost = HOPELESS
        good = move(c, u, b, random, tail)
        if good:
            limit = cost - heat * np.log(1.0 - draw(random))
            new = timed(t, c, b, j, memo, w, limit)
            good = new < HOPELESS
        if not good:
            restore(c, b, old_of, old_lines, old_lengths)
            continue
        cost = new
        keep(b, old_of, old_lines, old_lengths)
        value = w.values[first_goal]
        if value < best[first_goal] or (value == best[first_goal] and cost < best_cost - 1e-9):
            best_cost = cost
            for goal in range(best.shape[0]):
                best[goal] = w.values[goal]
            keep(b, best_of, best_lines, best_lengths)
    restore(c, b, best_of, best_lines, best_lengths)
    timed(t, c, b, j, memo, w, HOPELESS)
    return best
