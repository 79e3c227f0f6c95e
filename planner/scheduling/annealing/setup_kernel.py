"""Annealing where nobody is needed: unrelated printers with setups between batches (compiled).

Without attendance a list's end is a plain sum, so that a move costs a few additions. A batch that is moved is
put where it costs least.

Sources: Kirkpatrick, Gelatt, Vecchi, Science 220 (1983), the method; Vallada and Ruiz, EJOR 211 (2011), the
problem and moves on the printer that ends last with insertion at the best place.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from planner.scheduling.annealing.moves_kernel import Words, draw, pick, seeded
from planner.scheduling.problem.jit_no_refcount import jit_no_refcount, jit_refcount
from planner.scheduling.problem.problem import Ints, Tables
from planner.scheduling.problem.state_kernel import Floats


class Lists(NamedTuple):
    """One ordered list of batches per printer, and when it ends."""

    lines: Ints  # (printers, width)
    lengths: Ints  # (printers,)
    ends: Ints  # (printers,)
    scale: Floats  # (1,) the end that counts as 1


FROM_LATEST = 0.5  # share of moves that take a batch from the printer that ends last


@jit_no_refcount
def step(t: Tables, p: int, before: int, after: int) -> int:
    """Setup between two batches of a printer; none before the first and after the last."""
    return int(t.setup[p, before, after]) if before >= 0 and after >= 0 else 0


@jit_no_refcount
def at(line: Ints, length: int, n: int) -> int:
    """The batch at a place, -1 outside the list."""
    return int(line[n]) if 0 <= n < length else -1


@jit_no_refcount
def gain(t: Tables, p: int, line: Ints, length: int, n: int) -> int:
    """Ticks that a printer saves without the batch at a place."""
    before, batch, after = at(line, length, n - 1), line[n], at(line, length, n + 1)
    return int(
        t.duration[batch, p]
        + step(t, p, before, batch)
        + step(t, p, batch, after)
        - step(t, p, before, after)
    )


@jit_no_refcount
def cheapest(t: Tables, p: int, line: Ints, length: int, batch: int, skip: int) -> tuple[int, int]:
    """The place where a batch adds least, and what it adds; the batch at ``skip`` is taken to be gone."""
    best, where = 1 << 30, 0
    before = -1
    for n in range(length + 1):
        if n < length and n == skip:
            continue
        after = int(line[n]) if n < length else -1
        adds = step(t, p, before, batch) + step(t, p, batch, after) - step(t, p, before, after)
        if adds < best:
            best, where = adds, n
        before = after
    return where, int(best + t.duration[batch, p])


@jit_no_refcount
def take(line: Ints, length: int, n: int) -> None:
    """Close the gap of a batch that goes."""
    for m in range(n, length - 1):
        line[m] = line[m + 1]


@jit_no_refcount
def put(line: Ints, length: int, n: int, batch: int) -> None:
    """Make room for a batch that comes."""
    for m in range(length, n, -1):
        line[m] = line[m - 1]
    line[n] = batch


@jit_no_refcount
def price(ticks: float, scale: float) -> float:
    """The eighth power of a relative end: near the largest of several, but smooth."""
    x = ticks / scale
    x = x * x
    x = x * x
    return float(x * x)


@jit_no_refcount
def rise(s: Lists, p: int, new: int) -> float:
    """What a new end of a printer costs more than its present one."""
    return price(new, s.scale[0]) - price(s.ends[p], s.scale[0])


@jit_no_refcount
def elsewhere(t: Tables, p: int, line: Ints, length: int, n: int, random: Words) -> tuple[int, int]:
    """A place for the batch at n drawn at random, and what the batch adds there once it is gone from n."""
    where = pick(random, length + 1)
    if where in (n, n + 1):
        where = n
        before, after = at(line, length, n - 1), at(line, length, n + 1)
    else:
        before, after = at(line, length, where - 1), at(line, length, where)
    batch = line[n]
    adds = step(t, p, before, batch) + step(t, p, batch, after) - step(t, p, before, after)
    return where, int(adds + t.duration[batch, p])


@jit_no_refcount
def replaced(line: Ints, length: int, n: int, where: int, batch: int) -> None:
    """Put a batch at a place and take away the one at n; ``where`` counts with that one still there."""
    take(line, length, n)
    put(line, length - 1, where - (where > n), batch)


@jit_no_refcount
def within(t: Tables, s: Lists, p: int, n: int, random: Words, limit: float) -> bool:
    """The batch at n to another place of its list; whether that was allowed, and done."""
    line, length = s.lines[p], s.lengths[p]
    batch = line[n]
    if draw(random) < 0.5:
        where, adds = elsewhere(t, p, line, length, n, random)
    else:
        where, adds = cheapest(t, p, line, length, batch, n)
    new = s.ends[p] - gain(t, p, line, length, n) + adds
    if price(new, s.scale[0]) - price(s.ends[p], s.scale[0]) > limit:
        return False
    replaced(line, length, n, where, batch)
    s.ends[p] = new
    return True


@jit_no_refcount
def shift(t: Tables, s: Lists, p: int, n: int, q: int, limit: float) -> bool:
    """The batch at n to the best place of another printer; whether that was allowed, and done."""
    batch, length = s.lines[p, n], s.lengths[q]
    if length == s.lines.shape[1] or t.duration[batch, q] < 0:
        return False
    where, adds = cheapest(t, q, s.lines[q], length, batch, -1)
    new_p, new_q = s.ends[p] - gain(t, p, s.lines[p], s.lengths[p], n), s.ends[q] + adds
    if rise(s, p, new_p) + rise(s, q, new_q) > limit:
        return False
    take(s.lines[p], s.lengths[p], n)
    put(s.lines[q], length, where, batch)
    s.lengths[p] -= 1
    s.lengths[q] += 1
    s.ends[p], s.ends[q] = new_p, new_q
    return True


@jit_no_refcount
def swap(t: Tables, s: Lists, p: int, n: int, q: int, m: int, limit: float) -> bool:
    """Two batches change printers, each put at its best place; whether that was allowed, and done."""
    one, other = s.lines[p, n], s.lines[q, m]
    if t.duration[one, q] < 0 or t.duration[other, p] < 0:
        return False
    to_p, adds_p = cheapest(t, p, s.lines[p], s.lengths[p], other, n)
    to_q, adds_q = cheapest(t, q, s.lines[q], s.lengths[q], one, m)
    new_p = s.ends[p] - gain(t, p, s.lines[p], s.lengths[p], n) + adds_p
    new_q = s.ends[q] - gain(t, q, s.lines[q], s.lengths[q], m) + adds_q
    if rise(s, p, new_p) + rise(s, q, new_q) > limit:
        return False
    replaced(s.lines[p], s.lengths[p], n, to_p, other)
    replaced(s.lines[q], s.lengths[q], m, to_q, one)
    s.ends[p], s.ends[q] = new_p, new_q
    return True


@jit_no_refcount
def move(t: Tables, s: Lists, random: Words, limit: float) -> bool:
    """One move drawn at random; whether it was allowed, and done."""
    printers = s.lengths.shape[0]
    p = int(np.argmax(s.ends)) if draw(random) < FROM_LATEST else pick(random, printers)
    q = pick(random, printers)
    if s.lengths[p] == 0:
        return False
    n = pick(random, s.lengths[p])
    if p == q:
        return within(t, s, p, n, random, limit)
    if draw(random) < 0.5 or s.lengths[q] == 0:
        return shift(t, s, p, n, q, limit)
    return swap(t, s, p, n, q, pick(random, s.lengths[q]), limit)


@jit_no_refcount
def keep(s: Lists, lines: Ints, lengths: Ints) -> None:
    """Write down the lists, and how long they are."""
    for p in range(lengths.shape[0]):
        lengths[p] = s.lengths[p]
        for n in range(lines.shape[1]):
            lines[p, n] = s.lines[p, n]


@jit_refcount
def anneal_setups(
    t: Tables, s: Lists, steps: int, hot: float, cold: float, seed: int, lines: Ints, lengths: Ints
) -> int:
    """Improve lists in place; the best met is left in ``lines`` and ``lengths``. Returns its finish.

    Best is the earliest finish, then the least sum of the ends.
    """
    random = seeded(seed)
    for p in range(s.lengths.shape[0]):
        s.ends[p] = 0
        for n in range(s.lengths[p]):
            before = at(s.lines[p], s.lengths[p], n - 1)
            s.ends[p] += t.duration[s.lines[p, n], p] + step(t, p, before, s.lines[p, n])
    best_finish, best_sum = s.ends.max(), s.ends.sum()
    s.scale[0] = max(1.0, float(best_finish))
    keep(s, lines, lengths)
    factor = (cold / hot) ** (1.0 / max(1, steps))
    heat = hot
    for _ in range(steps):
        heat *= factor
        if not move(t, s, random, -heat * np.log(1.0 - draw(random))):
            continue
        finish = s.ends.max()
        if finish < best_finish or (finish == best_finish and s.ends.sum() < best_sum):
            best_finish, best_sum = finish, s.ends.sum()
            s.scale[0] = float(finish)
            keep(s, lines, lengths)
    return int(best_finish)
