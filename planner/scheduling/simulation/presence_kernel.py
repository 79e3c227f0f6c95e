"""A timed plan as arrays, and when nobody is there in a world (compiled)."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int32]
CLOSE = 1e-9  # minutes
NEVER = np.inf
NOBODY = -1


class Workplace(NamedTuple):
    """A timed plan as arrays; times are minutes after its start."""

    queue: Ints  # (printers, beds) beds in their order, -1 behind the last
    minutes: Floats  # (beds,) that a bed is to last; of one that prints already, those that are left
    heat_up: Floats  # (beds,) of these, minutes that are the same in every world
    begins: Floats  # (beds,) planned begin of printing
    running: Ints  # (beds,) 1: it prints already
    material: Ints  # (beds,)
    fit: Ints  # (beds,)
    attended: Ints  # (beds,) 1: somebody must be there during the whole run
    watch: Floats  # (beds,) minutes of watching after the start
    loaded: Ints  # (printers,) material at the start, -1: none
    fitted: Ints  # (printers,)
    covered: Ints  # (printers,) 1: a bed must be cleared before the first run
    cool: Floats  # (printers,)
    refit: Floats  # (printers, fits, fits)
    clear: float
    change: float
    start: float
    there: Floats  # (segments, 3) since, until, persons
    shut: Floats  # (spans, 4) printer or -1, material or -1, since, until
    visits: Floats  # (visits, 2) begin, and until when nobody is there where it is missed


class Dryers(NamedTuple):
    """Loads of the dryers, in the order in which they go in.

    They are no part of the workplace: compiled functions hand that on by value, and few need these.
    """

    loads: Floats  # (loads, 3) in, out, minutes it takes to dry
    follows: Ints  # (loads, most) loads that are out of its dryer before it is in, -1 behind the last
    needs_dry: Ints  # (beds, most) loads whose spools a bed draws from, -1 behind the last
    frees: Ints  # (beds, most) loads that wait for a spool of it, -1 behind the last


@compiled(nogil=True)
def gap_end(work: Workplace, missed: Ints, at: float, until: float) -> float:
    """Where nobody is there for all of a stretch: the moment before which no other one can begin, else -1."""
    n = len(work.there)
    low, high = 0, n
    while low < high:
        middle = (low + high) // 2
        if work.there[middle, 1] > at + CLOSE:
            high = middle
        else:
            low = middle + 1
    if low == n:
        return NEVER
    if work.there[low, 0] > at + CLOSE:
        return float(work.there[low, 0])
    while work.there[low, 1] < until - CLOSE:
        if low + 1 == n:
            return NEVER
        if work.there[low + 1, 0] > work.there[low, 1] + CLOSE:
            return float(work.there[low + 1, 0])
        low += 1
    for visit in range(len(missed)):
        if missed[visit] == 1:
            since, back = work.visits[visit, 0], work.visits[visit, 1]
            if since < max(until, at + 2.0 * CLOSE) - CLOSE and back > at + CLOSE:
                return float(back)
    return -1.0
