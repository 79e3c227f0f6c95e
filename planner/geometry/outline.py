"""The outline of a mesh seen from above."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry import polygon
from planner.geometry.mesh import TriangleMesh

Points = NDArray[np.float64]

CELL = 0.05  # mm: the shadow is marked on cells of this size, outwards
MOST_CELLS = 5000  # across; larger meshes get larger cells
MOST_POINTS = 200
LEAST_HOLE = 25.0  # mm2: smaller openings are closed


@dataclass(frozen=True, eq=False, slots=True)
class Shadow:
    """Outer outline, counter-clockwise (n, 2) mm, and the openings in it, clockwise."""

    outer: Points
    holes: tuple[Points, ...]


def shadow(mesh: TriangleMesh, closed: bool = True, also: list[Points] | None = None) -> Shadow:
    """Outline of the whole mesh seen from above, measured from its lowest corner, simplified outwards.

    The outline holds the true shadow; it lies at most about three cells (0.15 mm, more on meshes
    over 250 mm) outside it, unless it needs more than 200 points. ``also`` are rings (a brim) that
    belong to it. Bodies that do not touch are held together by the convex hull. ``closed`` leaves
    facets that look down out of the work; their shadow is that of those that look up.
    """
    from planner.geometry.rings_kernel import thinned
    from planner.geometry.shadow_kernel import outlines, shade

    low = np.ascontiguousarray(mesh.bounds[0])
    wide, deep = float(mesh.extents[0]), float(mesh.extents[1])
    cell = max(CELL, max(wide, deep) / MOST_CELLS)
    grid = shade(mesh.triangles, low, cell, int(deep / cell) + 4, int(wide / cell) + 4, not closed)
    points, starts = outlines(grid)
    points, starts = thinned(points, starts, 0.8)
    rings = [(points[a:b] - 1.0) * cell for a, b in itertools.pairwise(starts)]
    rings = [r for r in rings if len(r) >= 3]
    rings = [r for r in rings if polygon.signed_area(r) > 0.0 or polygon.signed_area(r) < -LEAST_HOLE]
    outers, holes = polygon.outward(rings + (also or []), cell, MOST_POINTS)
    if len(outers) > 1:
        return Shadow(polygon.hull(outers), ())
    return Shadow(outers[0], tuple(h for h in holes if polygon.signed_area(h) < -LEAST_HOLE))
