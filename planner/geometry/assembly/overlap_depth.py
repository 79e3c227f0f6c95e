"""Whether two bodies that share space do so by more than a skin."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.measure import area, volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.overlap import Surface, column, relation, spans

Floats = NDArray[np.float64]

SKIN_MM = 0.5  # bodies that share less do so by the drawing: fits, glue lines, rounding (our choice)
_OF_WALL = 0.4  # of the mean wall: what thin shells that cross share is no deeper than that
_LINES = 20  # looked along each way over the space in common
_FACETS = 40  # of each body, through whose middles is looked, too


def mean_wall(mesh: TriangleMesh) -> float:
    """Twice the volume over the surface, mm: the thickness of a plate (Source: geometry)."""
    return 2.0 * abs(volume(mesh)) / max(area(mesh), 1e-9)


def share_deeply(
    first: Surface, second: Surface, walls: tuple[float, float], budget: int
) -> tuple[bool, int]:
    """Whether a block of more than a skin's depth each way fits into both, and what is left of a budget.

    ``walls`` are the mean walls of both. Looks along vertical lines over the space in common; a block
    between two lines of the raster may be missed (Source: geometry, winding number along a line).
    """
    low, high = np.maximum(first.low, second.low), np.minimum(first.high, second.high)
    depth = min(SKIN_MM, _OF_WALL * walls[0], _OF_WALL * walls[1])
    if (high - low <= depth).any():
        return False, budget
    found, budget = relation(first, second, budget)
    if found == "apart":
        return False, budget
    a, b = column(first.triangles, low, high), column(second.triangles, low, high)
    around = (-0.5 * depth, 0.5 * depth)
    for x, y in _spots(a, b, low, high):
        if spans(a, b, x, y)[0] > depth:
            corners = [(x + dx, y + dy) for dx in around for dy in around]
            if all(spans(a, b, u, v)[0] > depth for u, v in corners):
                return True, budget
    return False, budget


def _spots(a: Floats, b: Floats, low: Floats, high: Floats) -> list[tuple[float, float]]:
    """Where to look along: a raster over the box in common, and the middles of facets in it."""
    shares = (np.arange(_LINES) + 0.5) / _LINES
    xs, ys = (low[k] + shares * (high[k] - low[k]) for k in (0, 1))
    spots = [(float(x), float(y)) for x in xs for y in ys]
    for triangles in (a, b):
        middles = triangles.mean(axis=1)
        within = middles[((middles > low) & (middles < high)).all(axis=1)]
        spots += [(float(x), float(y)) for x, y, _ in within[:: max(1, len(within) // _FACETS)][:_FACETS]]
    return spots
