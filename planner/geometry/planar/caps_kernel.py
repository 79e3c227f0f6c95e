"""Compiled sums over the edges of a region that lines to and fro do not reach."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_FLAT = 1e-6  # mm; a side whose ends differ by less runs along the lines


@njit(cache=True, nogil=True, error_model="numpy")
def unlaid(points: Floats, starts: Any, apart: float) -> float:
    """Mean length of the edges beyond the outermost lines; see `planner.geometry.planar.regions.caps`.

    Rings of every polygon one after the other, the outer one (counter-clockwise) before its openings.
    """
    total = 0.0
    edge, ends = np.empty(5), np.empty(5)
    for sign in (1.0, -1.0):
        above = below = 1.0
        begun = False
        for r in range(starts.shape[0] - 1):
            first, last = starts[r], starts[r + 1]
            if _ends(points, first, last, sign, apart, ends) > 0.0:
                if begun:
                    total += 0.5 * min(edge[3] * above + edge[4] * below, edge[2])
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
            total += 0.5 * min(edge[3] * above + edge[4] * below, edge[2])
    return total


@njit(cache=True, nogil=True, error_model="numpy")
def _ends(points: Floats, first: int, last: int, sign: float, apart: float, ends: Floats) -> float:
    """Highest and lowest place of a ring, its length, mean length beyond either end; returns its area."""
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
    return area


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
