"""How the closed surfaces of one mesh lie to each other: apart, one inside another, or overlapping."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Pairs = tuple[tuple[int, int], ...]

MOST_COMPARED = 400  # closed surfaces in one mesh that are still compared pair by pair
_FEW_SURFACES = 40  # up to here open surfaces are compared too
OVERLAP_DEPTH = 0.01  # mm; surfaces that cross by less are taken to touch
_MOST_CELLS = 128  # along one axis of the grid that facets are sorted into
_BUDGET = 300_000_000  # comparisons of an edge with a facet in one mesh


@dataclass(frozen=True, eq=False, slots=True)
class Nesting:
    """Which closed surfaces lie inside which.

    Parameters
    ----------
    holders : for each surface the closed surfaces that it lies wholly inside
    crossing : pairs whose surfaces cross
    complete : False when there were too many surfaces or facets to compare them all
    """

    holders: tuple[tuple[int, ...], ...]
    crossing: Pairs
    complete: bool


def find_nesting(triangles: Floats, shell: NDArray[np.int64], closed: NDArray[np.bool_]) -> Nesting:
    """Compare the surfaces of a mesh whose bounding boxes meet.

    Two surfaces cross when an edge of one pierces a facet of the other. Otherwise one lies inside
    another when a point within it does (geometry: winding number along a vertical line).
    """
    count = len(closed)
    holders: list[tuple[int, ...]] = [()] * count
    # An open surface may still be a cavity with a gap; it is compared where there are few.
    able = np.arange(count) if count <= _FEW_SURFACES else np.flatnonzero(closed)
    if len(able) < 2:
        return Nesting(tuple(holders), (), True)
    if len(able) > MOST_COMPARED:
        return Nesting(tuple(holders), (), False)
    order = np.argsort(shell, kind="stable")
    ends = np.searchsorted(shell[order], np.arange(count + 1))
    parts = {int(s): triangles[order[ends[s] : ends[s + 1]]] for s in able}
    bounds = {s: (t.min(axis=(0, 1)), t.max(axis=(0, 1))) for s, t in parts.items()}
    crossing: list[tuple[int, int]] = []
    budget = _BUDGET
    met: dict[int, list[int]] = {s: [] for s in parts}
    for i, s in enumerate(parts):
        for t in list(parts)[i + 1 :]:
            if not _boxes_meet(bounds[s], bounds[t]):
                continue
            crosses, budget = _cross(parts[s], parts[t], bounds[s], bounds[t], budget)
            if crosses:
                if closed[s] and closed[t]:
                    crossing.append((s, t))
                continue
            inner, outer = (s, t) if _box_size(bounds[s]) <= _box_size(bounds[t]) else (t, s)
            if _box_within(bounds[inner], bounds[outer]):
                met[inner].append(outer)
    for inner, outers in met.items():
        if outers:
            holders[inner] = _holders(parts[inner], {outer: parts[outer] for outer in outers})
    return Nesting(tuple(holders), tuple(crossing), budget > 0)


def _cross(
    a: Floats, b: Floats, box_a: tuple[Floats, Floats], box_b: tuple[Floats, Floats], budget: int
) -> tuple[bool, int]:
    from planner.geometry.inside_kernels import surfaces_cross

    low, high = np.maximum(box_a[0], box_b[0]), np.minimum(box_a[1], box_b[1])
    near_a, near_b = _near(a, low, high), _near(b, low, high)
    if len(near_a) == 0 or len(near_b) == 0:
        return False, budget
    for edged, faced in ((near_a, near_b), (near_b, near_a)):
        edges = np.stack([edged, np.roll(edged, -1, axis=1)], axis=2).reshape(-1, 2, 3)
        start, lists, size, shape = _cells(faced, low, high)
        crosses, budget = surfaces_cross(edges, faced, start, lists, low, size, shape, OVERLAP_DEPTH, budget)
        if crosses or budget <= 0:
            return bool(crosses), int(budget)
    return False, int(budget)


def _cells(
    triangles: Floats, low: Floats, high: Floats
) -> tuple[NDArray[np.int64], NDArray[np.int32], float, NDArray[np.int64]]:
    """A grid over the box with about as many cells as facets, coarser where facets are long."""
    from planner.geometry.inside_kernels import fill_cells

    extents = np.maximum(high - low, 1e-9)
    size = float(max(np.cbrt(np.prod(extents) / len(triangles)), extents.max() / _MOST_CELLS))
    while True:
        shape = np.maximum(np.ceil(extents / size), 1.0).astype(np.int64)
        start, lists = fill_cells(triangles, low, size, shape, 27 * len(triangles))
        if len(start):
            return start, lists, size, shape
        size *= 2.0


def _near(triangles: Floats, low: Floats, high: Floats) -> Floats:
    reach = (triangles.min(axis=1) <= high).all(axis=1) & (triangles.max(axis=1) >= low).all(axis=1)
    return np.ascontiguousarray(triangles[reach])


def _holders(inner: Floats, outers: dict[int, Floats]) -> tuple[int, ...]:
    """Which of the outer surfaces hold a point that lies well within the inner one."""
    from planner.geometry.inside_kernels import line_crossings

    x, y, z = _point_within(inner)
    found = []
    for number, outer in outers.items():
        heights, signs = line_crossings(outer, x, y)
        if signs[heights > z].sum() != 0:
            found.append(number)
    return tuple(found)


def _point_within(triangles: Floats) -> tuple[float, float, float]:
    """The middle of the longest vertical chord over a few facets: far from every surface."""
    from planner.geometry.inside_kernels import line_crossings

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


def _boxes_meet(a: tuple[Floats, Floats], b: tuple[Floats, Floats]) -> bool:
    return bool((a[0] < b[1]).all() and (b[0] < a[1]).all())


def _box_within(inner: tuple[Floats, Floats], outer: tuple[Floats, Floats]) -> bool:
    return bool((inner[0] >= outer[0] - OVERLAP_DEPTH).all() and (inner[1] <= outer[1] + OVERLAP_DEPTH).all())


def _box_size(box: tuple[Floats, Floats]) -> float:
    return float(np.prod(box[1] - box[0]))
