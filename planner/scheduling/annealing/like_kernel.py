"""Two batches that last nearly as long change places, wherever they are (compiled).

Whoever follows hardly moves then, so that runs which end when somebody comes still do.
"""

from __future__ import annotations

import numpy as np

from planner.scheduling.annealing.moves_kernel import Words, draw, pick
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount
from planner.scheduling.problem.problem import Ints, Tables
from planner.scheduling.problem.state_kernel import State

REACH = 0.05  # places up or down in the order of lengths, on the mean, as a share of all


@jit_no_refcount
def of_like_length(by_length: Ints, rank: Ints, batch: int, random: Words) -> int:
    """Another batch that lasts nearly as long, or -1 at either end of the order of lengths."""
    step = 1 + int(-REACH * rank.shape[0] * np.log(1.0 - draw(random)))
    other = rank[batch] + (step if draw(random) < 0.5 else -step)
    return int(by_length[other]) if 0 <= other < by_length.shape[0] else -1


@jit_no_refcount
def place_of(line: Ints, length: int, batch: int) -> int:
    """Where a batch stands in its list."""
    n = 0
    while n < length - 1 and line[n] != batch:
        n += 1
    return n


@jit_no_refcount
def pick_like(s: State, by_length: Ints, rank: Ints, p: int, random: Words, at: Ints) -> int:
    """A batch of one printer and one like it: writes their places, returns the printer of the other or -1."""
    if s.lengths[p] == 0:
        return -1
    at[0] = pick(random, s.lengths[p])
    other = of_like_length(by_length, rank, s.lines[p, at[0]], random)
    if other < 0:
        return -1
    q = s.printer_of[other]
    at[1] = place_of(s.lines[q], s.lengths[q], other)
    return int(q)


@jit_no_refcount
def swap(t: Tables, s: State, p: int, q: int, at: Ints) -> bool:
    """Swap two batches by their places; on one printer ``at`` is left as moves within a list leave it."""
    a, b = at[0], at[1]
    one, other = s.lines[p, a], s.lines[q, b]
    if t.duration[one, q] < 0 or t.duration[other, p] < 0:
        return False
    s.lines[p, a], s.lines[q, b] = other, one
    if p == q:
        at[0], at[1] = min(a, b), 0
    return True
