"""Moves on pieces, beds and their order (compiled); each says whether the beds it touched are allowed.

``c`` are the pieces, ``b`` the beds, ``u`` the sets of pieces that are known not to lie.
"""

from __future__ import annotations

from planner.compiled.jit import compiled
from planner.joint_search.kernels.bed_kernel import (
    Beds,
    Ints,
    NoGoodArrays,
    Pieces,
    Words,
    carries,
    drop,
    insert,
    lay,
    lift,
    locate,
    spare,
)
from planner.scheduling.annealing.moves_kernel import draw, pick

FEW = 4  # pieces that one move carries at most, but for whole beds


@compiled()
def another(c: Pieces, random: Words, piece: int) -> int:
    """A piece of the same family."""
    family = c.family[piece]
    first, last = c.kin_from[family], c.kin_from[family + 1]
    return int(c.kin[first + pick(random, last - first)])


@compiled()
def settled(c: Pieces, u: NoGoodArrays, b: Beds, old: int, bed: int) -> bool:
    """Drop the old bed when it is empty; whether the new one is allowed where it stands."""
    if b.members[old] == 0:
        where, n = locate(b, old)
        drop(b, where, n)
    p, _ = locate(b, bed)
    return carries(c, u, b, bed, p)


@compiled()
def move_piece(c: Pieces, u: NoGoodArrays, b: Beds, random: Words) -> bool:
    """One piece, or a few of one bed, to a bed of the same family."""
    piece = pick(random, b.bed_of.shape[0])
    old, bed = b.bed_of[piece], b.bed_of[another(c, random, piece)]
    if bed == old:
        return False
    lift(c, b, piece)
    lay(c, b, piece, bed)
    if draw(random) < 0.3:
        for _ in range(1 + pick(random, FEW - 1)):
            more = another(c, random, piece)
            if b.bed_of[more] == old:
                lift(c, b, more)
                lay(c, b, more, bed)
    return settled(c, u, b, old, bed)


@compiled()
def new_bed(c: Pieces, u: NoGoodArrays, b: Beds, random: Words) -> bool:
    """One piece, or about half of its bed, to a new bed anywhere."""
    piece = pick(random, b.bed_of.shape[0])
    old, bed = b.bed_of[piece], spare(b)
    if b.members[old] == 1 or bed < 0:
        return False
    lift(c, b, piece)
    lay(c, b, piece, bed)
    if draw(random) < 0.5:
        for more in range(b.bed_of.shape[0]):
            if b.bed_of[more] == old and b.members[old] > 1 and draw(random) < 0.5:
                lift(c, b, more)
                lay(c, b, more, bed)
    p = pick(random, b.lengths.shape[0])
    insert(b, p, pick(random, b.lengths[p] + 1), bed)
    return carries(c, u, b, bed, p)


@compiled()
def merge_beds(c: Pieces, u: NoGoodArrays, b: Beds, random: Words) -> bool:
    """All pieces of a bed to another bed of the same family."""
    piece = pick(random, b.bed_of.shape[0])
    old, bed = b.bed_of[piece], b.bed_of[another(c, random, piece)]
    if bed == old:
        return False
    for more in range(b.bed_of.shape[0]):
        if b.bed_of[more] == old:
            lift(c, b, more)
            lay(c, b, more, bed)
    return settled(c, u, b, old, bed)


@compiled()
def swap_pieces(c: Pieces, u: NoGoodArrays, b: Beds, random: Words) -> bool:
    """Two pieces of one family that are not alike change beds."""
    one = pick(random, b.bed_of.shape[0])
    other = another(c, random, one)
    bed, bed_other = b.bed_of[one], b.bed_of[other]
    if bed == bed_other or c.shape_class[one] == c.shape_class[other]:
        return False
    lift(c, b, one)
    lift(c, b, other)
    lay(c, b, one, bed_other)
    lay(c, b, other, bed)
    p, _ = locate(b, bed)
    q, _ = locate(b, bed_other)
    return carries(c, u, b, bed, p) and carries(c, u, b, bed_other, q)


@compiled()
def move_bed(c: Pieces, u: NoGoodArrays, b: Beds, random: Words, swap: bool) -> bool:
    """One bed to another place in any list, or two beds against each other."""
    p, q = pick(random, b.lengths.shape[0]), pick(random, b.lengths.shape[0])
    if b.lengths[p] == 0 or (swap and b.lengths[q] == 0):
        return False
    n = pick(random, b.lengths[p])
    if swap:
        m = pick(random, b.lengths[q])
        if p == q and n == m:
            return False
        b.lines[p, n], b.lines[q, m] = b.lines[q, m], b.lines[p, n]
        return carries(c, u, b, b.lines[p, n], p) and carries(c, u, b, b.lines[q, m], q)
    bed = drop(b, p, n)
    insert(b, q, pick(random, b.lengths[q] + 1), bed)
    return carries(c, u, b, bed, q)


@compiled()
def exchange_tails(c: Pieces, u: NoGoodArrays, b: Beds, random: Words, tail: Ints) -> bool:
    """The ends of two lists change printers."""
    p, q = pick(random, b.lengths.shape[0]), pick(random, b.lengths.shape[0])
    if p == q:
        return False
    n, m = pick(random, b.lengths[p] + 1), pick(random, b.lengths[q] + 1)
    more_p, more_q = b.lengths[p] - n, b.lengths[q] - m
    for k in range(more_p):
        tail[k] = b.lines[p, n + k]
    for k in range(more_q):
        b.lines[p, n + k] = b.lines[q, m + k]
    for k in range(more_p):
        b.lines[q, m + k] = tail[k]
    b.lengths[p], b.lengths[q] = n + more_q, m + more_p
    for at in range(n, b.lengths[p]):
        if not carries(c, u, b, b.lines[p, at], p):
            return False
    good = True
    for at in range(m, b.lengths[q]):
        good = good and carries(c, u, b, b.lines[q, at], q)
    return good


@compiled()
def move(c: Pieces, u: NoGoodArrays, b: Beds, random: Words, tail: Ints) -> bool:
    """One move drawn at random."""
    kind = draw(random)
    if kind < 0.3:
        return move_piece(c, u, b, random)
    if kind < 0.52:
        return swap_pieces(c, u, b, random)
    if kind < 0.62:
        return new_bed(c, u, b, random)
    if kind < 0.66:
        return merge_beds(c, u, b, random)
    if kind < 0.7:
        return exchange_tails(c, u, b, random, tail)
    return move_bed(c, u, b, random, kind < 0.85)
