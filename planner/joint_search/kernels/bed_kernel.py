"""Pieces on beds, as the joint search changes them in place (compiled).

``c`` are the pieces, ``b`` the beds, ``u`` the sets of pieces that are known not to lie.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.estimate.time.bed_kernel import bed_seconds

Ints = NDArray[np.int32]
Counts = NDArray[np.int64]
Words = NDArray[np.uint64]
Floats = NDArray[np.float64]

SECONDS_PER_MINUTE = 60.0


class Pieces(NamedTuple):
    """What never changes: every piece on every kind of printer.

    ``shape_class`` numbers pieces that may change places: one outline, one set of layers. ``word`` is a
    random word for each of those numbers; the sum of its words names the contents of a bed.
    """

    seconds: Floats  # (kinds, layers of all pieces)
    starts: Counts  # (pieces + 1,)
    reach: Floats  # (pieces,)
    change: Floats  # (kinds, pieces)
    least: Floats  # (kinds, pieces)
    travel: Floats  # (kinds, families, 5)
    heat_up: Floats  # (kinds,) minutes
    share: Counts  # (kinds, pieces) of the usable bed, millionths
    barred: Ints  # (printers, pieces) 1: the piece can not lie there
    capacity: Counts  # (kinds,) millionths
    kind_of: Ints  # (printers,)
    family: Ints  # (pieces,)
    kin: Ints  # (pieces,) sorted by family
    kin_from: Ints  # (families + 1,)
    shape_class: Ints  # (pieces,)
    word: Words  # (pieces,)
    ticks_per_minute: float
    most: Ints  # (kinds, families) pieces on a bed
    longest: Ints  # (kinds, families) ticks of a bed


class NoGoodArrays(NamedTuple):
    """Sets of pieces that were found not to lie on a bed of a kind; no bed may hold one of them."""

    kind: Ints  # (sets,)
    shape_class: Ints  # (sets, width) which pieces, -1: no more
    least: Ints  # (sets, width) how many of them


class Beds(NamedTuple):
    """Pieces, the bed of each, and the beds of each printer in order."""

    bed_of: Ints  # (pieces,)
    members: Ints  # (beds,) pieces on it; 0: not in use
    family: Ints  # (beds,)
    share: Counts  # (beds, kinds)
    barred: Ints  # (beds, printers) pieces on it that can not lie there
    tally: Ints  # (beds, shape_class)
    word: Words  # (beds,)
    lines: Ints  # (printers, beds)
    lengths: Ints  # (printers,)
    end: Ints  # (beds,)


class Memo(NamedTuple):
    """Ticks of beds met before, by their contents."""

    word: Words
    ticks: Ints


@compiled()
def lay(c: Pieces, b: Beds, piece: int, bed: int) -> None:
    """Put a piece on a bed."""
    b.bed_of[piece] = bed
    b.members[bed] += 1
    b.family[bed] = c.family[piece]
    b.tally[bed, c.shape_class[piece]] += 1
    b.word[bed] += c.word[piece]
    for k in range(c.capacity.shape[0]):
        b.share[bed, k] += c.share[k, piece]
    for p in range(c.kind_of.shape[0]):
        b.barred[bed, p] += c.barred[p, piece]


@compiled()
def lift(c: Pieces, b: Beds, piece: int) -> None:
    """Take a piece off its bed."""
    bed = b.bed_of[piece]
    b.members[bed] -= 1
    b.tally[bed, c.shape_class[piece]] -= 1
    b.word[bed] -= c.word[piece]
    for k in range(c.capacity.shape[0]):
        b.share[bed, k] -= c.share[k, piece]
    for p in range(c.kind_of.shape[0]):
        b.barred[bed, p] -= c.barred[p, piece]


@compiled()
def carries(c: Pieces, u: NoGoodArrays, b: Beds, bed: int, printer: int) -> bool:
    """Whether a printer may take a bed as it is laid, as far as is known."""
    kind = c.kind_of[printer]
    if b.members[bed] > c.most[kind, b.family[bed]]:
        return False
    if b.barred[bed, printer] > 0 or b.share[bed, kind] > c.capacity[kind]:
        return False
    for n in range(u.kind.shape[0]):
        if u.kind[n] == kind:
            inside = True
            for m in range(u.shape_class.shape[1]):
                if u.shape_class[n, m] < 0:
                    break
                if b.tally[bed, u.shape_class[n, m]] < u.least[n, m]:
                    inside = False
                    break
            if inside:
                return False
    return True


@compiled()
def bed_ticks(c: Pieces, b: Beds, memo: Memo, bed: int, kind: int) -> int:
    """Whole ticks from heat-up to the end of printing of a bed on a kind of printer."""
    word = (b.word[bed] + np.uint64(kind + 1) * np.uint64(0x9E3779B97F4A7C15)) | np.uint64(1)
    slot = int((word >> np.uint64(7)) % np.uint64(memo.word.shape[0]))
    if memo.word[slot] == word:
        return int(memo.ticks[slot])
    chosen = np.empty(b.members[bed], np.int64)
    n = 0
    for piece in range(b.bed_of.shape[0]):
        if b.bed_of[piece] == bed:
            chosen[n] = piece
            n += 1
    family = b.family[bed]
    seconds = bed_seconds(
        c.seconds[kind], c.starts, c.reach, c.change[kind], c.least[kind], chosen, c.travel[kind, family]
    )
    minutes = c.heat_up[kind] + seconds / SECONDS_PER_MINUTE
    ticks = max(1, int(np.ceil(minutes * c.ticks_per_minute - 1e-6)))
    memo.word[slot], memo.ticks[slot] = word, ticks
    return ticks


@compiled()
def drop(b: Beds, printer: int, n: int) -> int:
    """Take the bed at a place out of a list."""
    bed = b.lines[printer, n]
    for m in range(n, b.lengths[printer] - 1):
        b.lines[printer, m] = b.lines[printer, m + 1]
    b.lengths[printer] -= 1
    return int(bed)


@compiled()
def insert(b: Beds, printer: int, n: int, bed: int) -> None:
    """Put a bed into a list."""
    for m in range(b.lengths[printer], n, -1):
        b.lines[printer, m] = b.lines[printer, m - 1]
    b.lines[printer, n] = bed
    b.lengths[printer] += 1


@compiled()
def locate(b: Beds, bed: int) -> tuple[int, int]:
    """Printer and place of a bed."""
    for p in range(b.lengths.shape[0]):
        for n in range(b.lengths[p]):
            if b.lines[p, n] == bed:
                return p, n
    return -1, -1


@compiled()
def spare(b: Beds) -> int:
    """A bed that is not in use."""
    for bed in range(b.members.shape[0]):
        if b.members[bed] == 0:
            return bed
    return -1


@compiled()
def keep(b: Beds, old_of: Ints, old_lines: Ints, old_lengths: Ints) -> None:
    """Remember which piece is where."""
    for piece in range(b.bed_of.shape[0]):
        old_of[piece] = b.bed_of[piece]
    for p in range(b.lengths.shape[0]):
        old_lengths[p] = b.lengths[p]
        for n in range(b.lengths[p]):
            old_lines[p, n] = b.lines[p, n]


@compiled()
def restore(c: Pieces, b: Beds, old_of: Ints, old_lines: Ints, old_lengths: Ints) -> None:
    """Bring back what was remembered; the sums of the beds follow."""
    for piece in range(b.bed_of.shape[0]):
        if b.bed_of[piece] != old_of[piece]:
            lift(c, b, piece)
            lay(c, b, piece, old_of[piece])
    for p in range(b.lengths.shape[0]):
        b.lengths[p] = old_lengths[p]
        for n in range(old_lengths[p]):
            b.lines[p, n] = old_lines[p, n]
