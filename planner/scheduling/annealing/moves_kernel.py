"""Moves on the lists of one or two printers (compiled)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.scheduling.problem.jit_no_refcount import jit_no_refcount, jit_refcount
from planner.scheduling.problem.problem import Ints, Tables
from planner.scheduling.problem.state_kernel import State

Words = NDArray[np.uint64]

LONGEST_PART = 4  # batches that one exchange of parts carries at most
SCALE_53 = 1.0 / 9007199254740992.0  # 2 ** -53


@jit_refcount
def seeded(seed: int) -> Words:
    """A generator for a seed."""
    random = np.zeros(1, np.uint64)
    random[0] = np.uint64(seed) * np.uint64(0x9E3779B97F4A7C15) + np.uint64(0x1234567)
    for _ in range(8):
        draw(random)
    return random


@jit_no_refcount
def draw(random: Words) -> float:
    """Next number in [0, 1).

    Source: Marsaglia, Xorshift RNGs, J. Stat. Softw. 8 (2003); Vigna's multiplied form, ACM TOMS 42 (2016).
    """
    x = random[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    random[0] = x
    return float((x * np.uint64(2685821657736338717)) >> np.uint64(11)) * SCALE_53


@jit_no_refcount
def pick(random: Words, below: int) -> int:
    """A whole number in [0, below)."""
    return int(draw(random) * below)


@jit_no_refcount
def within(line: Ints, length: int, random: Words, at: Ints) -> bool:
    """Swap two batches of a list, move one, or turn a part round."""
    if length < 2:
        return False
    a, b = pick(random, length), pick(random, length)
    if a == b:
        return False
    kind = draw(random)
    low, high = min(a, b), max(a, b)
    at[0], at[1] = low, 0
    if kind < 0.4:
        line[a], line[b] = line[b], line[a]
    elif kind < 0.85:
        moved = line[a]
        step = 1 if b > a else -1
        n = a
        while n != b:
            line[n] = line[n + step]
            n += step
        line[b] = moved
    else:
        while low < high:
            line[low], line[high] = line[high], line[low]
            low += 1
            high -= 1
    return True


@jit_no_refcount
def across(t: Tables, s: State, p: int, q: int, random: Words, at: Ints) -> bool:
    """Give a batch to another printer, swap two, or exchange parts or whole tails."""
    have_p, have_q = s.lengths[p], s.lengths[q]
    if have_p == 0:
        return False
    kind = draw(random)
    a, b = pick(random, have_p), pick(random, have_q + 1)
    part_p, part_q = 1, 0
    if kind >= 0.45:
        if b == have_q:
            return False
        part_q = 1
        if kind >= 0.93:
            part_p, part_q = have_p - a, have_q - b
        elif kind >= 0.85:
            part_p = min(have_p - a, 1 + pick(random, LONGEST_PART))
            part_q = min(have_q - b, 1 + pick(random, LONGEST_PART))
    at[0], at[1] = a, b
    return exchange(t, s, p, a, part_p, q, b, part_q)


@jit_refcount
def exchange(t: Tables, s: State, p: int, a: int, part_p: int, q: int, b: int, part_q: int) -> bool:
    """Swap ``part_p`` batches from place a of one list with ``part_q`` from place b of another."""
    new_p, new_q = s.lengths[p] - part_p + part_q, s.lengths[q] - part_q + part_p
    if max(new_p, new_q) > s.lines.shape[1]:
        return False
    line_p, line_q = s.lines[p], s.lines[q]
    for n in range(a, a + part_p):
        if t.duration[line_p[n], q] < 0:
            return False
    for n in range(b, b + part_q):
        if t.duration[line_q[n], p] < 0:
            return False
    if part_p == part_q:
        for n in range(part_p):
            line_p[a + n], line_q[b + n] = line_q[b + n], line_p[a + n]
        return True
    old_p, old_q = line_p[a : s.lengths[p]].copy(), line_q[b : s.lengths[q]].copy()
    for n in range(part_q):
        line_p[a + n] = old_q[n]
    for n in range(a + part_q, new_p):
        line_p[n] = old_p[n - a - part_q + part_p]
    for n in range(part_p):
        line_q[b + n] = old_p[n]
    for n in range(b + part_p, new_q):
        line_q[n] = old_q[n - b - part_p + part_q]
    s.lengths[p], s.lengths[q] = new_p, new_q
    return True
