"""The outline of a mesh seen from above."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar import polygon

Points = NDArray[np.float64]

CELL = 0.05  # mm: the shadow is marked on cells of this size, outwards
MOST_CELLS = 5000  # across; larger meshes get larger cells
MOST_POINTS = 200
MOST_MOVE = 5.0  # mm: an outline that needs more to be simple is replaced by its hull
SHARP = -0.3  # cosine of the turn from which a corner is cut square instead of drawn to its tip
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
    belong to it. Bodies that do not touch are held together by their convex hull. ``closed`` leaves
    facets that look down out of the work; their shadow is that of those that look up. Without it
    no opening is reported.
    """
    from planner.geometry.planar.shadow_kernel import outlines, shade

    low = np.ascontiguousarray(mesh.bounds[0])
    wide, deep = float(mesh.extents[0]), float(mesh.extents[1])
    cell = max(CELL, max(wide, deep) / MOST_CELLS)
    rows, columns = int(deep / cell) + 4, int(wide / cell) + 4
    points, starts, areas = outlines(shade(mesh.triangles, low, cell, rows, columns, not closed))
    if len(points) == 0:  # nothing looks up: flat facets on edge
        points, starts, areas = outlines(shade(mesh.triangles, low, cell, rows, columns, True))
    points -= 1.0
    points *= cell
    sizes = (areas * cell * cell).tolist()
    rings = [points[a:b] for a, b in itertools.pairwise(starts.tolist())]
    if also:
        rings = polygon.united([*rings, *also])
        sizes = [polygon.signed_area(ring) for ring in rings]
    outers = [r for r, size in zip(rings, sizes, strict=True) if size > 0.0]
    if len(outers) > 1:
        return Shadow(drawn_from(polygon.hull(outers), cell), ())
    # where facets may be missing, an opening may be a lost lid
    open_ = [r for r, size in zip(rings, sizes, strict=True) if closed and size < -LEAST_HOLE]
    holes = [drawn_from(r, cell) for r in open_]
    kept = tuple(h for h in holes if len(h) >= 3 and polygon.signed_area(h) < -LEAST_HOLE)
    return Shadow(drawn_from(outers[0], cell), kept)


def drawn_from(ring: Points, cell: float) -> Points:
    """A ring of at most 200 points: an outline that holds the given one, an opening that lies in it.

    No further from it than needed; of an opening that is nowhere wide enough nothing is left.
    """
    from planner.geometry.planar.rings_kernel import thinned

    whole = np.ascontiguousarray(ring)
    ends = np.array([0, len(whole)], dtype=np.int64)
    opening = polygon.signed_area(ring) < 0.0
    by = 0.8 * cell  # steps of one cell on a slanting outline are that far from a straight line
    while True:
        kept, _ = thinned(whole, ends, by)
        if len(kept) >= 3:
            moved = outward(kept, by)
            if opening and not _sound(moved, ring):
                moved = polygon.shrunk(ring, by)  # sides that met in a narrow place have turned over
            if len(moved) <= MOST_POINTS and _sound(moved, ring):
                return moved
        if by > MOST_MOVE:
            return ring[:0] if opening else polygon.hull([ring])
        by *= 1.5


def _sound(moved: Points, ring: Points) -> bool:
    """Whether a ring is simple, and as an outline has only grown, as an opening only shrunk."""
    if len(moved) < 3 or not polygon.simple(moved):
        return False
    if polygon.signed_area(ring) > 0.0:
        return polygon.signed_area(moved) > 0.0 and polygon.encloses(moved, ring)
    return polygon.signed_area(moved) < 0.0 and polygon.encloses(ring, moved)


def outward(ring: Points, by: float) -> Points:
    """Every side moved to the right by ``by``, corners mitred, sharp ones cut square (geometry)."""
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    u = before / np.hypot(*before.T)[:, None]
    v = after / np.hypot(*after.T)[:, None]
    turn = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    same = (u * v).sum(axis=1)
    sharp = (turn > 0.0) & (same < SHARP)
    half = np.where(same > -0.999, turn / np.maximum(1.0 + same, 1e-9), 0.0)
    right = np.column_stack([u[:, 1], -u[:, 0]])
    tip = ring + by * (right + half[:, None] * u)
    first = np.where(sharp[:, None], ring + by * (right + u), tip)
    second = ring + by * (np.column_stack([v[:, 1], -v[:, 0]]) - v)
    paired = np.stack([first, second], axis=1).reshape(-1, 2)
    keep = np.column_stack([np.ones(len(ring), dtype=bool), sharp]).ravel()
    moved: Points = paired[keep]
    return moved
