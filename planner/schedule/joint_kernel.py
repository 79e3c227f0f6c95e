"""Annealing over pieces, beds and sequence at once (compiled).

All printers are timed again after each move: a workshop in which one person walks about has few beds.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.schedule.decode import NEVER, mark, place
from planner.schedule.lean import lean, owning
from planner.schedule.moves import Words, draw, pick, seeded
from planner.schedule.problem import Ints, Tables
from planner.schedule.state import CHANGE, SCALE, Floats, steep

Counts = NDArray[np.int64]
PARTS = 1000  # parts of a tick in the sums
BED = 5  # place in the weights
HOPELESS = 1e300


class Beds(NamedTuple):
    """Pieces, the bed of each, and the beds of each printer in order."""

    bed_of: Ints  # (pieces,)
    members: Ints  # (beds,) pieces on it; 0: not in use
    family: Ints  # (beds,)
    ticks: Counts  # (beds, printers) sum over its pieces, thousandths
    share: Counts  # (beds, printers) sum over its pieces, millionths
    barred: Ints  # (beds, printers) pieces on it that can not lie there
    lines: Ints  # (printers, beds)
    lengths: Ints  # (printers,)
    end: Ints  # (beds,)
    piece_ticks: Counts
    piece_share: Counts
    piece_barred: Ints
    piece_family: Ints
    capacity: Counts  # (printers,)
    overhead: Counts  # (printers,)
    longest: int


@lean
def lay(b: Beds, piece: int, bed: int) -> None:
    """Put a piece on a bed."""
    b.bed_of[piece] = bed
    b.members[bed] += 1
    b.family[bed] = b.piece_family[piece]
    for p in range(b.lengths.shape[0]):
        b.ticks[bed, p] += b.piece_ticks[piece, p]
        b.share[bed, p] += b.piece_share[piece, p]
        b.barred[bed, p] += b.piece_barred[piece, p]


@lean
def lift(b: Beds, piece: int) -> None:
    """Take a piece off its bed."""
    bed = b.bed_of[piece]
    b.members[bed] -= 1
    for p in range(b.lengths.shape[0]):
        b.ticks[bed, p] -= b.piece_ticks[piece, p]
        b.share[bed, p] -= b.piece_share[piece, p]
        b.barred[bed, p] -= b.piece_barred[piece, p]


@lean
def carries(b: Beds, bed: int, printer: int) -> bool:
    """Whether a printer may take a bed as it is laid."""
    if b.barred[bed, printer] > 0 or b.share[bed, printer] > b.capacity[printer]:
        return False
    return bool(b.members[bed] == 1 or b.ticks[bed, printer] + b.overhead[printer] <= b.longest)


class Clock(NamedTuple):
    """Room for the timing of all lists."""

    busy: Ints  # (ticks,) persons occupied, all zero between two timings
    ready: Ints  # (printers,)
    at: Ints  # (printers,) how far each list has been timed
    begin: Ints  # (2, beds) handling of the runs in the order of timing: first tick, ticks
    rest: Counts  # (printers,) ticks of printing that are still to be placed
    length: Counts  # (beds,) ticks of each
    least: Floats  # (printers,) cost that the list cannot go below


@owning
def clock_for(t: Tables, b: Beds) -> Clock:
    """Room for the timing of some beds."""
    printers, beds = b.lengths.shape[0], b.members.shape[0]
    return Clock(
        np.zeros(t.window_at.shape[0] + 1, np.int32),
        np.zeros(printers, np.int32),
        np.zeros(printers, np.int32),
        np.zeros((2, beds), np.int32),
        np.zeros(printers, np.int64),
        np.zeros(beds, np.int64),
        np.zeros(printers),
    )


@lean
def timed(t: Tables, b: Beds, c: Clock, weights: Floats, limit: float) -> float:
    """Cost of the lists, timed from the start; HOPELESS as soon as it exceeds the limit."""
    printers = b.lengths.shape[0]
    busy, ready, at, begin = c.busy, c.ready, c.at, c.begin
    rest, length, least = c.rest, c.length, c.least
    cost = 0.0
    for p in range(printers):
        ready[p], at[p], rest[p] = t.release[p], 0, 0
        loaded = t.loaded[p]
        for n in range(b.lengths[p]):
            bed = b.lines[p, n]
            ticks = max(1, (b.ticks[bed, p] + b.overhead[p] + PARTS - 1) // PARTS)
            length[bed] = ticks
            rest[p] += ticks
            if t.material[b.family[bed]] != loaded:
                cost += weights[CHANGE]
                loaded = t.material[b.family[bed]]
        cost += weights[BED] * b.lengths[p]
    for p in range(printers):
        least[p] = steep(ready[p] + rest[p], weights)
        cost += least[p]
    marked = 0
    while cost <= limit:
        first = -1
        for p in range(printers):
            if at[p] < b.lengths[p] and (first < 0 or ready[p] < ready[first]):
                first = p
        if first < 0:
            break
        p = first
        bed = b.lines[p, at[p]]
        family = b.family[bed]
        before = b.family[b.lines[p, at[p] - 1]] if at[p] > 0 else -1
        t.duration[family, p] = length[bed]  # the tables know families, beds only here
        begins, block, end = place(t, busy, p, family, before, ready[p])
        if begins == NEVER:
            cost = HOPELESS
            break
        mark(busy, begins, block, 1)
        begin[0, marked], begin[1, marked] = begins, block
        marked += 1
        b.end[bed] = end
        rest[p] -= length[bed]
        ready[p] = end + t.cool[p]
        at[p] += 1
        now = steep(end + rest[p], weights)
        cost += now - least[p]
        least[p] = now
    for n in range(marked):
        mark(busy, begin[0, n], begin[1, n], -1)
    return cost if cost <= limit else HOPELESS


@lean
def drop(b: Beds, printer: int, n: int) -> int:
    """Take the bed at a place out of a list."""
    bed = b.lines[printer, n]
    for m in range(n, b.lengths[printer] - 1):
        b.lines[printer, m] = b.lines[printer, m + 1]
    b.lengths[printer] -= 1
    return int(bed)


@lean
def insert(b: Beds, printer: int, n: int, bed: int) -> None:
    """Put a bed into a list."""
    for m in range(b.lengths[printer], n, -1):
        b.lines[printer, m] = b.lines[printer, m - 1]
    b.lines[printer, n] = bed
    b.lengths[printer] += 1


@lean
def locate(b: Beds, bed: int) -> tuple[int, int]:
    """Printer and place of a bed."""
    for p in range(b.lengths.shape[0]):
        for n in range(b.lengths[p]):
            if b.lines[p, n] == bed:
                return p, n
    return -1, -1


@lean
def spare(b: Beds) -> int:
    """A bed that is not in use."""
    for bed in range(b.members.shape[0]):
        if b.members[bed] == 0:
            return bed
    return -1


@lean
def move_piece(b: Beds, random: Words, piece: int, new_bed: bool) -> bool:
    """One piece to another bed, or to a new one anywhere."""
    old = b.bed_of[piece]
    if new_bed:
        p = pick(random, b.lengths.shape[0])
        bed = spare(b)
        if b.members[old] == 1 or bed < 0:
            return False
        lift(b, piece)
        lay(b, piece, bed)
        insert(b, p, pick(random, b.lengths[p] + 1), bed)
        return carries(b, bed, p)
    p = pick(random, b.lengths.shape[0])
    if b.lengths[p] == 0:
        return False
    bed = b.lines[p, pick(random, b.lengths[p])]
    if bed == old or b.family[bed] != b.piece_family[piece]:
        return False
    lift(b, piece)
    lay(b, piece, bed)
    if b.members[old] == 0:
        where, n = locate(b, old)
        drop(b, where, n)
    return carries(b, bed, p)


@lean
def swap_pieces(b: Beds, one: int, other: int) -> bool:
    """Two pieces of one family change beds."""
    bed, bed_other = b.bed_of[one], b.bed_of[other]
    if bed == bed_other or b.piece_family[one] != b.piece_family[other]:
        return False
    lift(b, one)
    lift(b, other)
    lay(b, one, bed_other)
    lay(b, other, bed)
    p, _ = locate(b, bed)
    q, _ = locate(b, bed_other)
    return carries(b, bed, p) and carries(b, bed_other, q)


@lean
def move_bed(b: Beds, random: Words, swap: bool) -> bool:
    """One bed to another place in any list, or two beds against each other."""
    p, q = pick(random, b.lengths.shape[0]), pick(random, b.lengths.shape[0])
    if b.lengths[p] == 0 or (swap and b.lengths[q] == 0):
        return False
    n = pick(random, b.lengths[p])
    if swap:
        m = pick(random, b.lengths[q])
        b.lines[p, n], b.lines[q, m] = b.lines[q, m], b.lines[p, n]
        return carries(b, b.lines[p, n], p) and carries(b, b.lines[q, m], q)
    bed = drop(b, p, n)
    insert(b, q, pick(random, b.lengths[q] + 1), bed)
    return carries(b, bed, q)


@lean
def keep(b: Beds, old_of: Ints, old_lines: Ints, old_lengths: Ints) -> None:
    """Remember which piece is where."""
    for piece in range(b.bed_of.shape[0]):
        old_of[piece] = b.bed_of[piece]
    for p in range(b.lengths.shape[0]):
        old_lengths[p] = b.lengths[p]
        for n in range(b.lengths[p]):
            old_lines[p, n] = b.lines[p, n]


@lean
def restore(b: Beds, old_of: Ints, old_lines: Ints, old_lengths: Ints) -> None:
    """Bring back what was remembered; the sums of the beds follow."""
    for piece in range(b.bed_of.shape[0]):
        if b.bed_of[piece] != old_of[piece]:
            lift(b, piece)
            lay(b, piece, old_of[piece])
    for p in range(b.lengths.shape[0]):
        b.lengths[p] = old_lengths[p]
        for n in range(old_lengths[p]):
            b.lines[p, n] = old_lines[p, n]


@owning
def anneal_jointly(
    t: Tables, b: Beds, weights: Floats, steps: int, hot: float, cold: float, seed: int
) -> float:
    """Improve the beds in place; they are left as the best met, and timed. Returns its cost."""
    random = seeded(seed)
    pieces, printers = b.bed_of.shape[0], b.lengths.shape[0]
    c = clock_for(t, b)
    old_of, old_lines, old_lengths = b.bed_of.copy(), b.lines.copy(), b.lengths.copy()
    best_of, best_lines, best_lengths = b.bed_of.copy(), b.lines.copy(), b.lengths.copy()
    timed(t, b, c, weights, HOPELESS)
    best_finish = c.ready.max()
    weights[SCALE] = max(1.0, float(best_finish))
    cost = timed(t, b, c, weights, HOPELESS)
    best_cost = cost
    factor = (cold / hot) ** (1.0 / max(1, steps))
    heat = hot
    for _ in range(steps):
        heat *= factor
        kind = draw(random)
        if kind < 0.35:
            good = move_piece(b, random, pick(random, pieces), False)
        elif kind < 0.6:
            good = swap_pieces(b, pick(random, pieces), pick(random, pieces))
        elif kind < 0.7:
            good = move_piece(b, random, pick(random, pieces), True)
        else:
            good = move_bed(b, random, kind < 0.85)
        if good:
            limit = cost - heat * np.log(1.0 - draw(random))
            new = timed(t, b, c, weights, limit)
            good = new <= limit
        if not good:
            restore(b, old_of, old_lines, old_lengths)
            continue
        cost = new
        keep(b, old_of, old_lines, old_lengths)
        finish = 0
        for p in range(printers):
            if b.lengths[p] > 0:
                finish = max(finish, c.ready[p] - t.cool[p])
        if finish < best_finish or (finish == best_finish and cost < best_cost - 1e-9):
            best_finish, best_cost = finish, cost
            keep(b, best_of, best_lines, best_lengths)
    restore(b, best_of, best_lines, best_lengths)
    timed(t, b, c, weights, HOPELESS)
    return best_cost
