"""What beds and their times are judged by (compiled); the values stand in the order of `objectives`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.joint_search import measures
from planner.joint_search.kernels.bed_kernel import Beds, Floats, Ints, Pieces
from planner.joint_search.measures import LATE
from planner.joint_search.objectives import BUILT_IN, place_of
from planner.scheduling.problem.problem import Tables

FINISH, SECTIONS, VISITS, HANDS = (place_of(name) for name in ("finish", "sections", "visits", "hands"))
RISK, PAIRS, CHANGEOVERS, SPOOLS = (place_of(name) for name in ("risk", "pairs", "changeovers", "spools"))
ADDED = len(BUILT_IN)  # the first value of the goals that other packages add


class ObjectiveData(NamedTuple):
    """How plans are compared: what each goal needs to know, its weight, and what it may not exceed."""

    night: NDArray[np.uint8]  # (ticks,) 1: a start here is a night start
    section: Ints  # (pieces,)
    weight: Floats  # (sections,) sum 1, the first section in the build order weighs most
    due: Ints  # (sections,) tick by which the section shall be printed, -1: none
    pairs: Ints  # (pairs, 2) pieces that belong on the same printer
    failure_per_hour: float
    gap: int  # ticks between two tasks that are still one visit
    ticks_per_hour: float
    factor: Floats  # (goals,) price of one unit
    ceiling: Floats  # (goals,)
    scale_hours: Floats  # (1,) a finish that counts as 1
    together: bool  # pairs lie on one bed
    power: float  # of the ends of the printers, where the finish counts
    visit_price: Floats  # (added goals, ticks)
    start_price: Floats  # (added goals, ticks)
    end_price: Floats  # (added goals, ticks)
    bed_price: Floats  # (added goals, families, printers)


@compiled()
def visits_and_nights(t: Tables, b: Beds, j: ObjectiveData, spans: Ints, count: int, values: Floats) -> int:
    """Walks to the printers, and starts in the night; ``spans``: begin, start and end of each handling.

    Adds the price of every visit to the values of the added goals.
    """
    nights = 0
    last = 0
    for n in range(count):
        nights += j.night[spans[1, n]]
    for p in range(b.lengths.shape[0]):  # the last bed of every printer is cleared, too
        if b.lengths[p] > 0:
            ready = b.end[b.lines[p, b.lengths[p] - 1]] + t.cool[p]
            begin = ready
            if ready < t.window_at.shape[0] and t.window_at[ready] < t.opens.shape[0]:
                begin = max(ready, t.opens[t.window_at[ready]])
            spans[0, count], spans[2, count] = begin, begin + t.clear
            count += 1
    for n in range(1, count):
        begin, end = spans[0, n], spans[2, n]
        m = n
        while m > 0 and spans[0, m - 1] > begin:
            spans[0, m], spans[2, m] = spans[0, m - 1], spans[2, m - 1]
            m -= 1
        spans[0, m], spans[2, m] = begin, end
    visits = 0
    for n in range(count):
        if n == 0 or spans[0, n] - last >= j.gap:
            visits += 1
            for k in range(j.visit_price.shape[0]):
                values[ADDED + k] += j.visit_price[k, min(spans[0, n], j.visit_price.shape[1] - 1)]
            last = spans[2, n]
        last = max(last, spans[2, n])
    return visits + nights


@compiled()
def section_hours(c: Pieces, b: Beds, j: ObjectiveData) -> float:
    """Hours until the sections are printed, the first in the build order weighing most; late ones more."""
    ready = np.zeros(j.weight.shape[0], np.int64)
    for piece in range(b.bed_of.shape[0]):
        ready[j.section[piece]] = max(ready[j.section[piece]], b.end[b.bed_of[piece]])
    total = 0.0
    for s in range(j.weight.shape[0]):
        total += j.weight[s] * ready[s]
        if 0 <= j.due[s] < ready[s]:
            total += LATE * (ready[s] - j.due[s])
    return float(total / j.ticks_per_hour)


lost_hours = compiled()(measures.lost_hours)


@compiled()
def evaluate(
    t: Tables, c: Pieces, b: Beds, j: ObjectiveData, length: Ints, spans: Ints, count: int, values: Floats
) -> None:
    """Write the value of every goal of beds that are timed."""
    printers = b.lengths.shape[0]
    finish, changes, loss, mounted = 0, 0, 0.0, 0
    home = np.full(b.members.shape[0], -1, np.int32)
    added = j.bed_price.shape[0]
    values[ADDED:] = 0.0
    for p in range(printers):
        loaded = t.loaded[p]
        for n in range(b.lengths[p]):
            bed = b.lines[p, n]
            home[bed] = p
            material = t.material[b.family[bed]]
            if material != loaded:
                changes += loaded >= 0
                loaded = material
            fresh = True
            for m in range(n):
                fresh = fresh and t.material[b.family[b.lines[p, m]]] != material
            mounted += fresh
            loss += lost_hours(length[bed] / j.ticks_per_hour, j.failure_per_hour)
            finish = max(finish, b.end[bed])
            for k in range(added):
                last = j.end_price.shape[1] - 1
                begin, end = min(b.end[bed] - length[bed], last), min(b.end[bed], last)
                values[ADDED + k] += j.start_price[k, begin] + j.end_price[k, end]
                values[ADDED + k] += j.bed_price[k, b.family[bed], p]
    parted = 0
    for n in range(j.pairs.shape[0]):
        parted += home[b.bed_of[j.pairs[n, 0]]] != home[b.bed_of[j.pairs[n, 1]]]
    values[FINISH] = finish / j.ticks_per_hour
    values[SECTIONS] = section_hours(c, b, j)
    hands = 0
    for n in range(count):
        hands += spans[2, n] - spans[0, n]
    for p in range(printers):
        hands += t.clear if b.lengths[p] > 0 else 0  # its last bed is cleared, too
    values[VISITS] = visits_and_nights(t, b, j, spans, count, values)
    values[HANDS] = hands * 60.0 / j.ticks_per_hour
    values[RISK] = loss
    values[PAIRS] = parted
    values[CHANGEOVERS] = changes
    values[SPOOLS] = mounted
