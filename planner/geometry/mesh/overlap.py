"""How two closed surfaces lie to each other: apart, one inside the other, or overlapping."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import bounds_of

Floats = NDArray[np.float64]
Relation = Literal["apart", "overlap", "first inside", "second inside"]

OVERLAP_DEPTH = 0.01  # mm; surfaces that reach into each other by less are taken to touch
_MOST_CELLS = 200  # along one axis of the grid that facets are sorted into
_CELLS_PER_FACET = 64  # most of them empty: surfaces are thin
_LINES = 12  # vertical lines that are looked along for each of two surfaces


@dataclass(frozen=True, eq=False, slots=True)
class Surface:
    """The facets of a connected surface, (m, 3, 3), with the corners of its bounding box."""

    triangles: Floats
    low: Floats
    high: Floats

    @classmethod
    def of(cls, triangles: Floats) -> Surface:
        """With its bounds measured."""
        low, high = bounds_of(triangles)
        return cls(triangles, low, high)


def relation(first: Surface, second: Surface, budget: int) -> tuple[Relation, int]:
    """Tell how two closed surfaces lie, and what is left of a budget of comparisons.

    Looks along vertical lines for space that both enclose, then for an edge of one that pierces a
    facet of the other, then for a point of the one that the other holds (geometry: winding number
    along a line). Surfaces that meet without depth are apart.
    """
    low, high = np.maximum(first.low, second.low), np.minimum(first.high, second.high)
    if (high - low <= OVERLAP_DEPTH).any():
        return "apart", budget
    shared, first_out, second_out = _along_lines(first, second, low, high)
    if shared and first_out and second_out:
        return "overlap", budget
    crosses, budget = _cross(first, second, low, high, budget)
    if crosses:
        return "overlap", budget
    if not first_out and _within(first, second):
        return "first inside", budget
    if not second_out and _within(second, first):
        return "second inside", budget
    return ("overlap" if shared else "apart"), budget


def _along_lines(first: Surface, second: Surface, low: Floats, high: Floats) -> tuple[bool, bool, bool]:
    """Whether a line meets space of both, and space of the one outside of the other."""
    a, b = column(first.triangles, low, high), column(second.triangles, low, high)
    spots = [0.5 * (low + high)[:2]]
    for triangles in (_near(first.triangles, low, high), _near(second.triangles, low, high)):
        picked = triangles[:: max(1, len(triangles) // _LINES)][:_LINES]
        spots += list(picked.mean(axis=1)[:, :2])
    shared = first_out = second_out = False
    for x, y in spots:
        both, only_a, only_b = spans(a, b, x, y)
        if both > OVERLAP_DEPTH:
            # A line along a common wall may seem to lie in both: its neighbours must agree.
            corners = [(x + dx, y + dy) for dx in _AROUND for dy in _AROUND]
            shared = shared or all(spans(a, b, u, v)[0] > OVERLAP_DEPTH for u, v in corners)
        first_out = first_out or only_a > OVERLAP_DEPTH
        second_out = second_out or only_b > OVERLAP_DEPTH
        if shared and first_out and second_out:
            break
    return shared, first_out, second_out


_AROUND = (-OVERLAP_DEPTH, OVERLAP_DEPTH)


def spans(a: Floats, b: Floats, x: float, y: float) -> tuple[float, float, float]:
    """Length of a vertical line within both, within the first only, within the second only, mm."""
    from planner.geometry.mesh.inside_kernel import line_crossings

    heights_a, signs_a = line_crossings(a, x, y)
    heights_b, signs_b = line_crossings(b, x, y)
    heights = np.concatenate([heights_a, heights_b])
    order = np.argsort(heights, kind="stable")
    step_a = np.concatenate([signs_a, np.zeros_like(signs_b)])[order].astype(np.int64)
    step_b = np.concatenate([np.zeros_like(signs_a), signs_b])[order].astype(np.int64)
    in_a, in_b = np.cumsum(step_a)[:-1] != 0, np.cumsum(step_b)[:-1] != 0
    length = np.diff(heights[order])
    return (
        float(length[in_a & in_b].sum()),
        float(length[in_a & ~in_b].sum()),
        float(length[in_b & ~in_a].sum()),
    )


def _cross(first: Surface, second: Surface, low: Floats, high: Floats, budget: int) -> tuple[bool, int]:
    from planner.geometry.mesh.inside_kernel import surfaces_cross

    near = _near(first.triangles, low, high), _near(second.triangles, low, high)
    if len(near[0]) == 0 or len(near[1]) == 0:
        return False, budget
    for edged, faced in (near, near[::-1]):
        edges = np.stack([edged, np.roll(edged, -1, axis=1)], axis=2).reshape(-1, 2, 3)
        start, lists, size, shape = _cells(faced, low, high)
        crosses, budget = surfaces_cross(edges, faced, start, lists, low, size, shape, OVERLAP_DEPTH, budget)
        if crosses or budget <= 0:
            return bool(crosses), int(budget)
    return False, int(budget)


def _cells(
    triangles: Floats, low: Floats, high: Floats
) -> tuple[NDArray[np.int64], NDArray[np.int32], float, NDArray[np.int64]]:
    """A grid over the box with cells of about two facets, coarser where some facets are long."""
    from planner.geometry.mesh.inside_kernel import fill_cells

    extents = high - low
    facet = float((triangles.max(axis=1) - triangles.min(axis=1)).max(axis=1).mean())
    fewest = float(np.cbrt(np.prod(extents) / (_CELLS_PER_FACET * len(triangles))))
    size = max(2.0 * facet, fewest, float(extents.max()) / _MOST_CELLS)
    while True:
        shape = np.maximum(np.ceil(extents / size), 1.0).astype(np.int64)
        start, lists = fill_cells(triangles, low, size, shape, 27 * len(triangles))
        if len(start):
            return start, lists, size, shape
        size *= 2.0


def _within(inner: Surface, outer: Surface) -> bool:
    """Whether a point well inside the inner surface lies inside the outer one, bounds and all."""
    from planner.geometry.mesh.inside_kernel import line_crossings

    slack = OVERLAP_DEPTH
    if (inner.low < outer.low - slack).any() or (inner.high > outer.high + slack).any():
        return False
    x, y, z = _point_within(inner.triangles)
    heights, signs = line_crossings(outer.triangles, x, y)
    return bool(signs[heights > z].sum() != 0)


def _point_within(triangles: Floats) -> tuple[float, float, float]:
    """The middle of the longest vertical chord over a few facets: far from every surface."""
    from planner.geometry.mesh.inside_kernel import line_crossings

    flat = np.abs(np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])[:, 2])
    best, longest = (0.0, 0.0, 0.0), -1.0
    for facet in np.argsort(-flat, kind="stable")[:8]:
        x, y, z = triangles[facet].mean(axis=0).tolist()
        heights = np.sort(line_crossings(triangles, x, y)[0])
        for low, high in zip(heights[0::2], heights[1::2], strict=False):
            if high - low > longest:
                longest, best = float(high - low), (x, y, float(0.5 * (low + high)))
        if longest < 0.0:
            best = (x, y, z)
    return best


def column(triangles: Floats, low: Floats, high: Floats) -> Floats:
    """Facets above and below the box."""
    return _reaching(triangles, low - OVERLAP_DEPTH, high + OVERLAP_DEPTH, axes=2)


def _near(triangles: Floats, low: Floats, high: Floats) -> Floats:
    return _reaching(triangles, low, high, axes=3)


def _reaching(triangles: Floats, low: Floats, high: Floats, axes: int) -> Floats:
    reach = np.ones(len(triangles), dtype=bool)
    for axis in range(axes):
        a, b, c = triangles[:, 0, axis], triangles[:, 1, axis], triangles[:, 2, axis]
        reach &= (np.minimum(np.minimum(a, b), c) <= high[axis]) & (
            np.maximum(np.maximum(a, b), c) >= low[axis]
        )
    return np.ascontiguousarray(triangles[reach])
