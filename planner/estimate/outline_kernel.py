"""Sums along the outlines of walked layers, one compiled pass each."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_ROOT2, _ROOT8 = float(np.sqrt(2.0)), float(np.sqrt(8.0))
_SHARP = 0.2  # a corner is offset to five times the depth at most


@njit(cache=True, nogil=True)
def side_sums(points: Floats, starts: Any, plane: Any, spacing: float) -> Floats:
    """Of every section: length of its rings, their width across the two diagonals, their caps, (k, 3) mm.

    A cap is what lies beyond the outermost of lines ``spacing`` apart along a diagonal: of a piece of ring
    at depth u under the extreme, 1 - u / spacing on the average over where the lines lie.
    """
    table = np.zeros((plane.shape[0] - 1, 3))
    for q in range(plane.shape[0] - 1):
        for r in range(plane[q], plane[q + 1]):
            first, last = starts[r], starts[r + 1]
            before = last - 1
            twice = 0.0
            a_low, a_high, b_low, b_high = np.inf, -np.inf, np.inf, -np.inf
            for i in range(first, last):
                x, y, u, v = points[before, 0], points[before, 1], points[i, 0], points[i, 1]
                dx, dy = u - x, v - y
                table[q, 0] += np.sqrt(dx * dx + dy * dy)
                table[q, 1] += (abs(dx - dy) + abs(dx + dy)) / _ROOT8
                twice += x * v - u * y
                a_low, a_high = min(a_low, u + v), max(a_high, u + v)
                b_low, b_high = min(b_low, u - v), max(b_high, u - v)
                before = i
            if twice > 0.0:
                reach = _ROOT2 * spacing
                table[q, 2] += _caps(points, first, last, (a_low, a_high, b_low, b_high), reach)
    return table


@njit(cache=True, nogil=True)
def _caps(
    points: Floats, first: int, last: int, box: tuple[float, float, float, float], reach: float
) -> float:
    """Mean over both diagonals of the caps at both ends of a ring; ``box`` and ``reach`` are times root 2."""
    a_low, a_high, b_low, b_high = box
    total = 0.0
    before = last - 1
    for i in range(first, last):
        x, y, u, v = points[before, 0], points[before, 1], points[i, 0], points[i, 1]
        before = i
        a0, a1, b0, b1 = x + y, u + v, x - y, u - v
        share = _beyond(a0 - a_low, a1 - a_low, reach) + _beyond(a_high - a0, a_high - a1, reach)
        share += _beyond(b0 - b_low, b1 - b_low, reach) + _beyond(b_high - b0, b_high - b1, reach)
        if share > 0.0:
            total += 0.5 * share * np.sqrt((u - x) ** 2 + (v - y) ** 2)
    return total


@njit(cache=True, nogil=True)
def _beyond(one: float, other: float, reach: float) -> float:
    """Mean of 1 - u / reach, where that is above nothing, along a side from depth ``one`` to ``other``."""
    low, high = min(one, other), max(one, other)
    if low >= reach:
        return 0.0
    if high <= reach:
        return 1.0 - 0.5 * (low + high) / reach
    return 0.5 * (reach - low) ** 2 / (reach * (high - low))


@njit(cache=True, nogil=True)
def _edge(ring: Floats, m: int, row: Floats) -> None:
    """Add area and integrals of x, y, x^2, y^2, xy of a closed ring (Green's theorem)."""
    j = m - 1
    for i in range(m):
        x, y, u, v = ring[j, 0], ring[j, 1], ring[i, 0], ring[i, 1]
        cross = x * v - u * y
        row[0] += cross / 2.0
        row[1] += cross * (x + u) / 6.0
        row[2] += cross * (y + v) / 6.0
        row[3] += cross * (x * x + x * u + u * u) / 12.0
        row[4] += cross * (y * y + y * v + v * v) / 12.0
        row[5] += cross * (2.0 * (x * y + u * v) + x * v + u * y) / 24.0
        j = i


@njit(cache=True, nogil=True)
def _moved(points: Floats, a: int, b: int, depth: float, out: Floats) -> None:
    """The ring with every side moved ``depth`` to its left; sharp corners are cut short."""
    m = b - a
    for i in range(m):
        x, y = points[a + i, 0], points[a + i, 1]
        j, k = a + (i + 1 if i + 1 < m else 0), a + (i - 1 if i > 0 else m - 1)
        ox, oy, bx, by = points[j, 0] - x, points[j, 1] - y, x - points[k, 0], y - points[k, 1]
        out_by, back_by = np.sqrt(ox * ox + oy * oy), np.sqrt(bx * bx + by * by)
        out_by = out_by if out_by > 0.0 else 1.0
        back_by = back_by if back_by > 0.0 else 1.0
        cx, cy = -oy / out_by - by / back_by, ox / out_by + bx / back_by
        square = max((cx * cx + cy * cy) / 2.0, 2.0 * _SHARP * _SHARP)
        out[i, 0], out[i, 1] = x + depth * cx / square, y + depth * cy / square


@njit(cache=True, nogil=True)
def moments(points: Floats, starts: Any, plane: Any, depths: Floats) -> tuple[Floats, Floats]:
    """Area and integrals of x, y, x^2, y^2, xy of every section, and of it moved in by ``depths`` (k,).

    Holes run clockwise and count negative. Two tables (k, 6).
    """
    k = plane.shape[0] - 1
    whole, inner = np.zeros((k, 6)), np.zeros((k, 6))
    most = 1
    for r in range(starts.shape[0] - 1):
        most = max(most, starts[r + 1] - starts[r])
    ring = np.empty((most, 2))
    for q in range(k):
        for r in range(plane[q], plane[q + 1]):
            a, b = starts[r], starts[r + 1]
            _edge(points[a:b], b - a, whole[q])
            _moved(points, a, b, depths[q], ring)
            _edge(ring, b - a, inner[q])
    return whole, inner
