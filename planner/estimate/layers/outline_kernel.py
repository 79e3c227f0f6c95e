"""Sums along the outlines of walked layers, one compiled pass each."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

_ROOT8 = float(np.sqrt(8.0))
_SHARP = 0.2  # a corner is offset to five times the depth at most


@compiled(nogil=True)
def side_sums(points: Floats, starts: Any, plane: Any) -> Floats:
    """Length of the rings of every section, their width across the diagonals, and that times a cosine.

    (k, 3) mm; the cosine is that between side and diagonal.
    """
    table = np.zeros((plane.shape[0] - 1, 3))
    for q in range(plane.shape[0] - 1):
        for r in range(plane[q], plane[q + 1]):
            before = starts[r + 1] - 1
            for i in range(starts[r], starts[r + 1]):
                dx, dy = points[i, 0] - points[before, 0], points[i, 1] - points[before, 1]
                side = np.sqrt(dx * dx + dy * dy)
                table[q, 0] += side
                table[q, 2] += abs(dx * dx - dy * dy) / (2.0 * side) if side > 0.0 else 0.0
                table[q, 1] += (abs(dx - dy) + abs(dx + dy)) / _ROOT8
                before = i
    return table


@compiled(nogil=True)
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


@compiled(nogil=True)
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


@compiled(nogil=True)
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
