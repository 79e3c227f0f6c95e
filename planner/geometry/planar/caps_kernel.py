"""Compiled sums over the edges of a region that lines to and fro do not reach."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# Share of all cases in which a branch of one line is left over. A half where its line is as near as the next
# one of the rest; less, as it is nearer on the average: by lines that were drawn over the parts of the demo.
_LEFT_OVER = 0.4
_FLAT = 1e-6  # mm; a side whose ends differ by less runs along the lines


@njit(cache=True, nogil=True, error_model="numpy")
def unlaid(points: Floats, starts: Any, apart: float) -> float:
    """Mean length of the edges beyond the outermost lines; see `planner.geometry.planar.regions.caps`.

    Rings of every polygon one after the other, the outer one (counter-clockwise) before its openings.
    """
    total = 0.0
    edge, ends = np.empty(6), np.empty(6)
    for sign in (1.0, -1.0):
        above = below = 1.0
        begun = False
        for r in range(starts.shape[0] - 1):
            first, last = starts[r], starts[r + 1]
            if _ends(points, first, last, sign, apart, ends) > 0.0:
                if begun:
                    total += 0.5 * min(edge[3] * above + edge[4] * below + edge[5], edge[2])
                edge[:] = ends
                above, below, begun = 1.0, 1.0, True
                continue
            over = min(1.0, max(0.0, edge[0] - ends[0]) / apart)
            under = min(1.0, max(0.0, ends[1] - edge[1]) / apart)
            neither = 0.5 * max(0.0, 1.0 - over - under)
            over, under = over + neither, under + neither
            above, below = min(above, over), min(below, under)
            across = (ends[0] - ends[1]) / apart
            once = max(min(across, 2.0 - across), 0.0) * ends[2]
            total += 0.5 * max(min(ends[3] * over + ends[4] * under, ends[2]) - once, 0.0)
        if begun:
            total += 0.5 * min(edge[3] * above + edge[4] * below + edge[5], edge[2])
    return total


@njit(cache=True, nogil=True, error_model="numpy")
def _ends(points: Floats, first: int, last: int, sign: float, apart: float, ends: Floats) -> float:
    """Highest and lowest place of a ring, its length, mean length beyond either end and in its branches.

    Returns its area.
    """
    ends[0], ends[1], ends[2], ends[3], ends[4] = -np.inf, np.inf, 0.0, 0.0, 0.0
    for i in range(first, last):
        place = (points[i, 0] + sign * points[i, 1]) * np.sqrt(0.5)
        ends[0], ends[1] = max(ends[0], place), min(ends[1], place)
    area, before = 0.0, last - 1
    for i in range(first, last):
        x, y, u, v = points[before, 0], points[before, 1], points[i, 0], points[i, 1]
        side = np.sqrt((u - x) ** 2 + (v - y) ** 2)
        area += 0.5 * (x * v - u * y)
        one, other = (x + sign * y) * np.sqrt(0.5), (u + sign * v) * np.sqrt(0.5)
        ends[2] += side
        ends[3] += side * _beyond(ends[0] - one, ends[0] - other, apart)
        ends[4] += side * _beyond(one - ends[1], other - ends[1], apart)
        before = i
    ends[5] = _branches(points, first, last, sign, apart) if area > 0.0 else 0.0
    return area


@njit(cache=True, nogil=True, error_model="numpy")
def _branches(points: Floats, first: int, last: int, sign: float, apart: float) -> float:
    """Mean length of the edge at the tips of branches and in the notches beside them that no step reaches.

    A branch of two lines or more ends what goes to and fro in it, and the rest of the ring begins anew: of N
    lines in s strokes N - s steps are laid. One of a single line is passed through where it is entered first,
    and left over where it is not. A branch ``high`` holds one line where that is less than ``high`` from its
    tip, and two where it is less than ``high - apart``; then the edge beyond the last line is lost at the
    tip and in the notch. Both are paired by persistence, the lowest branch first.
    """
    many = last - first
    place = np.empty(many)
    for i in range(many):
        place[i] = (points[first + i, 0] + sign * points[first + i, 1]) * np.sqrt(0.5)
    turns = np.empty(many, np.int64)
    count, way = 0, 0.0
    for i in range(2 * many):  # twice round: the first way is only known at the end
        step = place[(i + 1) % many] - place[i % many]
        if abs(step) < _FLAT:
            continue
        if i >= many and way * step < 0.0:
            turns[count] = i % many
            count += 1
        way = step
    total = 0.0
    while count > 2:
        pick, high = 0, np.inf
        for k in range(count):
            apart_k = abs(place[turns[k]] - place[turns[(k + 1) % count]])
            if apart_k < high:
                pick, high = k, apart_k
        for least, share in ((0.0, _LEFT_OVER), (apart, 1.0 - _LEFT_OVER)):  # one line at least, two at least
            reach = min(high - least, apart)
            if reach > 0.0:
                for k in (pick, (pick + 1) % count):
                    total += share * reach / apart * _near(points, first, place, turns[k], reach)
        after = (pick + 1) % count
        kept = 0
        for k in range(count):
            if k not in (pick, after):
                turns[kept] = turns[k]
                kept += 1
        count = kept
    return total


@njit(cache=True, nogil=True, error_model="numpy")
def _near(points: Floats, first: int, place: Floats, at: int, reach: float) -> float:
    """Mean length of the edge on both sides of a turn, weighed by 1 - t / reach up to ``reach`` from it."""
    many = len(place)
    total = 0.0
    for step in (1, -1):
        here = at
        for _ in range(many):
            there = (here + step) % many
            far, farther = abs(place[here] - place[at]), abs(place[there] - place[at])
            side = np.hypot(
                points[first + there, 0] - points[first + here, 0],
                points[first + there, 1] - points[first + here, 1],
            )
            total += side * _beyond(far, farther, reach)
            if farther >= reach:
                break
            here = there
    return total


@njit(cache=True, nogil=True, error_model="numpy")
def _beyond(one: float, other: float, apart: float) -> float:
    """Mean of 1 - t / apart, where that is above zero, for t from one value to another."""
    low, high = min(one, other), max(one, other)
    if low >= apart:
        return 0.0
    if high - low < _FLAT:
        return 1.0 - low / apart
    top = min(high, apart)
    return (top - low) * (1.0 - 0.5 * (low + top) / apart) / (high - low)
