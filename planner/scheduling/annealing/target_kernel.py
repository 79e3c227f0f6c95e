"""Simulated annealing towards a tick by which all runs are to end, for workshops of many printers (compiled).

Source of the method: Kirkpatrick, Gelatt, Vecchi, Optimization by simulated annealing, Science 220 (1983);
late work as what is to become least: Blazewicz, Scheduling preemptible tasks on parallel processors with
information loss, Technique et Science Informatiques 3 (1984).
"""

from __future__ import annotations

import numpy as np

from planner.scheduling.annealing.anneal_kernel import (
    ONE_LIST,
    keep,
    keep_lines,
    scratch_for,
    take_back,
    touched,
)
from planner.scheduling.annealing.late_kernel import late_cost, retime_late, settle_late
from planner.scheduling.annealing.like_kernel import pick_like, swap
from planner.scheduling.annealing.moves_kernel import Words, across, draw, pick, seeded, within
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount, jit_refcount
from planner.scheduling.problem.problem import Ints, Tables
from planner.scheduling.problem.state_kernel import SCALE, Floats, State, line_end

LOOKS = 64  # times that the target is set anew
FIRM = 0.85  # share of the steps after which a target that was not reached gives way
TRIES = 8  # of finding a printer that ends beyond the target
LIKE = 0.5  # share of moves that swap batches of like length


@jit_no_refcount
def target_at(step: int, steps: int, goal: int, best_finish: int) -> int:
    """The tick to end by: the goal, in the last steps what lies between it and the best; never the best."""
    given = max(0.0, step / steps - FIRM) / (1.0 - FIRM)
    return min(best_finish - 1, goal + int(given * max(0, best_finish - goal)))


@jit_no_refcount
def choose_late(random: Words, ends: Ints, target: int) -> tuple[int, int]:
    """The printers of a move; most often one of them ends beyond the target."""
    printers = ends.shape[0]
    p = pick(random, printers)
    for _ in range(TRIES):
        if ends[p] > target:
            break
        p = pick(random, printers)
    q = p if draw(random) < ONE_LIST else pick(random, printers)
    if p != q and draw(random) < 0.5:
        return q, p
    return p, q


@jit_refcount
def moved_as(t: Tables, s: State, p: int, q: int, is_like: bool, random: Words, at: Ints) -> bool:
    """One move on the lists of two printers; False where it cannot be made."""
    if is_like:
        return bool(swap(t, s, p, q, at))
    if q != p:
        return bool(across(t, s, p, q, random, at))
    return bool(within(s.lines[p], s.lengths[p], random, at))


@jit_no_refcount
def measure(t: Tables, s: State, weights: Floats, target: int, ends: Ints, costs: Floats) -> None:
    """End and cost of every list."""
    for p in range(ends.shape[0]):
        ends[p] = line_end(s, p)
        costs[p] = late_cost(t, s, p, weights, target)


@jit_refcount
def anneal_to(
    t: Tables,
    s: State,
    by_length: Ints,
    rank: Ints,
    weights: Floats,
    goal: int,
    steps: int,
    hot: float,
    cold: float,
    seed: int,
    best: tuple[Ints, Ints, Ints],
) -> int:
    """Improve a timed state; the one that ends first (``printer_of, begin, end``) is left in ``best``.

    Returns the tick at which the best ends.
    """
    printers = s.lines.shape[0]
    random = seeded(seed)
    k = scratch_for(s)
    ends = np.zeros(printers, np.int32)
    costs, new = np.zeros(printers), np.zeros(printers)
    at = np.zeros(2, np.int32)
    factor = (cold / hot) ** (1.0 / max(1, steps))
    heat = hot
    keep(s, best[0], best[1], best[2])
    measure(t, s, weights, 0, ends, costs)
    best_finish, target = int(ends.max()), 0
    is_better = True
    for step in range(steps):
        heat *= factor
        if is_better or step % max(1, steps // LOOKS) == 0:
            target = target_at(step, steps, goal, best_finish)
            weights[SCALE] = max(1.0, float(best_finish))
            measure(t, s, weights, target, ends, costs)
            is_better = False
        p, q = choose_late(random, ends, target)
        is_like = draw(random) < LIKE
        if is_like:
            q = pick_like(s, by_length, rank, p, random, at)
            if q < 0:
                continue
        len_p, len_q = s.lengths[p], s.lengths[q]
        keep_lines(s, k, p, q)
        if not moved_as(t, s, p, q, is_like, random, at):
            continue
        count = touched(s, k, p, q, len_p, len_q, at, False)
        allowed = -heat * np.log(1.0 - draw(random))
        for m in range(count):
            allowed += costs[k.who[m]]
        good = retime_late(t, s, k, count, weights, target, allowed)
        if not good or not settle_late(t, s, k, count, weights, target, allowed, new):
            take_back(s, k, count, p, q, len_p, len_q)
            continue
        for m in range(count):
            costs[k.who[m]] = new[m]
            ends[k.who[m]] = line_end(s, k.who[m])
        finish = int(ends.max())
        if finish < best_finish:
            best_finish = finish
            keep(s, best[0], best[1], best[2])
            is_better = True
    return best_finish
