"""Rectangles of whole-number sides: the fewest equal bins, or the lowest strip.

This is how filling by boxes is held against published instances, whose best answers are known; beds
themselves are filled by true outlines. Nothing but the bench and the tests asks for it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.errors import InputError
from planner.nesting.boxes.rectangles_kernel import fill_bin, refill, squeeze

Ints = NDArray[np.int64]
Stop = Callable[[int], bool]

_ROUNDS = 400  # between two looks at ``stop``
_HEATS = (0.0, 0.001, 0.003)  # mean area that may be lost by a change at the start, as share of all


@dataclass(frozen=True, slots=True)
class Laid:
    """One rectangle where it lies: bin, lower left corner, sides as laid."""

    bin: int
    x: int
    y: int
    width: int
    height: int


def fewest_bins(
    sides: Sequence[tuple[int, int]], bin_sides: tuple[int, int], *, rotate: bool, seed: int, stop: Stop
) -> tuple[Laid, ...]:
    """Rectangles in as few bins as the search finds before ``stop`` (asked with the refills so far).

    Raises
    ------
    InputError
        when a rectangle is larger than the bin
    """
    w, h = _sides(sides, bin_sides, rotate)
    at = np.zeros((len(w), 4), dtype=np.int64)
    bin_of = _first_bins(w, h, bin_sides, rotate, at)
    bins = int(bin_of.max()) + 1 if len(w) else 0
    goal = -(-int((w * h).sum()) // (bin_sides[0] * bin_sides[1]))
    random = np.array(np.random.SeedSequence(seed).generate_state(1, np.uint64), dtype=np.uint64)
    done = 0
    while bins > goal and not stop(done):
        found, used = refill(*bin_sides, w, h, bin_of, bins, rotate, _ROUNDS, goal, random, at)
        bins, done = int(found), done + int(used)
    return tuple(Laid(int(b), *(int(v) for v in row)) for b, row in zip(bin_of, at, strict=True))


def lowest_strip(
    sides: Sequence[tuple[int, int]], width: int, *, rotate: bool, seed: int, stop: Stop
) -> tuple[Laid, ...]:
    """Rectangles in a strip of ``width`` as low as the search finds before ``stop``."""
    high = sum(max(pair) for pair in sides)
    w, h = _sides(sides, (width, high), rotate)
    random = np.array(np.random.SeedSequence(seed).generate_state(1, np.uint64), dtype=np.uint64)
    rng = np.random.default_rng(seed)
    at = np.zeros((len(w), 4), dtype=np.int64)
    _first_bins(w, h, (width, high), rotate, at)
    best = at.copy()
    height = int((best[:, 1] + best[:, 3]).max())
    goal = max(-(-int((w * h).sum()) // width), int(np.minimum(w, h).max() if rotate else h.max()))
    done, turn = 0, 0
    while height > goal and not stop(done):
        order = np.argsort(-(w * h) * rng.uniform(0.5, 1.0, len(w)), kind="stable")
        eager, flat = np.zeros(len(w), dtype=np.bool_), rng.random(len(w)) < 0.5
        rounds, heat = 50_000 * (1 + turn // 4), _HEATS[turn % len(_HEATS)]
        left, used = squeeze(width, height - 1, w, h, order, eager, flat, rotate, rounds, heat, random, at)
        done, turn = done + int(used), turn + 1
        if left == 0:
            best = at.copy()
            height = int((best[:, 1] + best[:, 3]).max())
            turn = 0
    return tuple(Laid(0, *(int(v) for v in row)) for row in best)


def _sides(sides: Sequence[tuple[int, int]], room: tuple[int, int], rotate: bool) -> tuple[Ints, Ints]:
    for number, (w, h) in enumerate(sides):
        fits = (w <= room[0] and h <= room[1]) or (rotate and h <= room[0] and w <= room[1])
        if not fits or min(w, h) < 1:
            raise InputError(f"rectangle {number} of {w} x {h} does not fit {room[0]} x {room[1]}.")
    pairs = np.array(sides, dtype=np.int64).reshape(-1, 2)
    return pairs[:, 0].copy(), pairs[:, 1].copy()


def _first_bins(w: Ints, h: Ints, room: tuple[int, int], rotate: bool, at: Ints) -> Ints:
    """Bin after bin, largest first."""
    n = len(w)
    order = np.argsort(-(w * h), kind="stable")
    none = np.zeros(n, dtype=np.bool_)
    taken, sky = none.copy(), np.zeros((n + 2, 3), dtype=np.int64)
    bin_of = np.full(n, -1, dtype=np.int64)
    bins = 0
    while not taken.all():
        fill_bin(*room, w, h, order, none, none, rotate, taken, at, sky)
        bin_of[taken & (bin_of < 0)] = bins
        bins += 1
    return bin_of
