"""Compiled lines to and fro over regions: the steps that join them along the edge."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.geometry.planar.inset_kernel import ASKEW_COS, ASKEW_SIN, offset

Floats = NDArray[np.float64]

PLACES = 6  # of the grid of lines under the region, evenly over their distance
FEW_LINES, MORE = 24.0, 4  # under fewer lines so many times as many places: the mean shall not hang on them
LONGEST_STEP_MM = 50.0  # ends farther apart along the edge are not joined (common practice, no source)
MOST_ENDS = 4_000_000  # of lines over one region: of more every other stretch of the edge is a step


@compiled(nogil=True, error_model="numpy")
def steps(points: Floats, starts: Any, regions: Any, apart: float) -> Floats:
    """Length of the steps along the edge of every region, the mean over both ways and some places of lines.

    Rings are closed (first point repeated), ``starts`` tells where each begins, ``regions`` where those of
    each region begin. Lines lie ``apart`` at 45 degrees. From its end a line goes on, along that edge, to the
    nearest line beside it that is not laid yet; where there is none a new stroke begins, at the lowest line
    that is left (common practice, no source).
    """
    count = len(regions) - 1
    laid = np.zeros(count)
    for q in range(count):
        if regions[q + 1] > regions[q]:
            laid[q] = _both_ways(points, starts, regions[q], regions[q + 1], apart)
    return laid


@compiled(nogil=True, error_model="numpy")
def moved_caps(points: Floats, starts: Any, plane: Any, depth: Floats, apart: float) -> Floats:
    """Edge of every section moved in by ``depth`` (k,) that steps do not lay, but for half of all.

    For sections whose moved rings do not meet. Rings are open, those of section q are ``plane[q]`` up to
    ``plane[q + 1]``.
    """
    found = np.zeros(len(plane) - 1)
    for q in range(len(found)):
        first, last = plane[q], plane[q + 1]
        out = np.empty((2 * (starts[last] - starts[first]) + 4 * (last - first) + 1, 6))
        rings, begins, edge = _closed(out, offset(points, starts, first, last, depth[q], out))
        if len(rings):
            found[q] = edge - 2.0 * _both_ways(rings, begins, 0, len(begins) - 1, apart)
    return found


@compiled(nogil=True, error_model="numpy")
def _closed(out: Floats, count: int) -> tuple[Floats, Any, float]:
    """Closed rings of moved segments, turned back to the axes; where each begins; their whole length."""
    rings, begins, edge = np.empty((2 * count, 2)), np.empty(count + 1, np.int64), 0.0
    at, many = 0, 0
    for s in range(count):
        if s == 0 or out[s, 0] != out[s - 1, 2] or out[s, 1] != out[s - 1, 3]:
            begins[many] = at
            many += 1
            rings[at, 0] = ASKEW_COS * out[s, 0] - ASKEW_SIN * out[s, 1]
            rings[at, 1] = ASKEW_SIN * out[s, 0] + ASKEW_COS * out[s, 1]
            at += 1
        rings[at, 0] = ASKEW_COS * out[s, 2] - ASKEW_SIN * out[s, 3]
        rings[at, 1] = ASKEW_SIN * out[s, 2] + ASKEW_COS * out[s, 3]
        edge += np.hypot(out[s, 2] - out[s, 0], out[s, 3] - out[s, 1])
        at += 1
    begins[many] = at
    return rings[:at], begins[: many + 1], edge


@compiled(nogil=True, error_model="numpy")
def _both_ways(points: Floats, starts: Any, first: int, last: int, apart: float) -> float:
    """Mean length of the steps over lines that run either way."""
    one = _one_way(points, starts, first, last, 1.0, apart)
    return 0.5 * (one + _one_way(points, starts, first, last, -1.0, apart))


@compiled(nogil=True, error_model="numpy")
def places(lines: float) -> int:
    """Places of the grid at which so many lines are drawn."""
    return PLACES if lines >= FEW_LINES else MORE * PLACES


@compiled(nogil=True, error_model="numpy")
def _one_way(points: Floats, starts: Any, first: int, last: int, sign: float, apart: float) -> float:
    """Mean of the steps over all places of lines that run one way; places are told apart by fine rows."""
    begin, end = starts[first], starts[last]
    across = (points[begin:end, 1] + sign * points[begin:end, 0]) * np.sqrt(0.5) / apart
    many = places(across.max() - across.min())
    across = across * many - 0.5
    along = points[begin:end, 0] - sign * points[begin:end, 1]
    length, ends = np.zeros(last - first), 0.0
    for r in range(first, last):
        for i in range(starts[r] + 1, starts[r + 1]):
            length[r - first] += np.hypot(points[i, 0] - points[i - 1, 0], points[i, 1] - points[i - 1, 1])
            ends += abs(np.ceil(across[i - begin]) - np.ceil(across[i - 1 - begin]))
    if not ends <= MOST_ENDS:
        return 0.5 * float(length.sum())
    lowest = int(np.floor(across.min()))
    row, ring = np.empty(int(ends), np.int64), np.empty(int(ends), np.int64)
    key, way = np.empty(int(ends)), np.empty(int(ends))
    at = 0
    for r in range(first, last):
        done = 0.0
        for i in range(starts[r] + 1, starts[r + 1]):
            a, b, u, v = across[i - 1 - begin], across[i - begin], along[i - 1 - begin], along[i - begin]
            side = np.hypot(points[i, 0] - points[i - 1, 0], points[i, 1] - points[i - 1, 1])
            low, high = int(np.ceil(min(a, b))), int(np.ceil(max(a, b)))
            for step in range(high - low):
                crossed = low + step if a < b else high - 1 - step
                share = (crossed - a) / (b - a)
                row[at], ring[at], way[at] = crossed - lowest, r - first, done + share * side
                key[at] = (1.0 - share) * u + share * v
                at += 1
            done += side
    order, rows = _in_rows(row, key)
    partner = np.empty(at, np.int64)
    for k in range(0, at - 1, 2):  # a row meets the rings an even number of times
        partner[order[k]], partner[order[k + 1]] = order[k + 1], order[k]
    back, ahead = _beside(row, ring, last - first, many)
    return _joined(order, rows, partner, back, ahead, way, ring, length, many) / many


@compiled(nogil=True, error_model="numpy")
def _in_rows(row: Any, key: Floats) -> Any:
    """Ends of lines row by row, each row by its places along it, and where each row begins."""
    many = len(row)
    rows = np.zeros((row.max() + 2) if many else 1, np.int64)
    for k in range(many):
        rows[row[k] + 1] += 1
    rows = np.cumsum(rows)
    order, filled = np.empty(many, np.int64), rows.copy()
    for k in range(many):
        at = filled[row[k]]
        while at > rows[row[k]] and key[order[at - 1]] > key[k]:
            order[at] = order[at - 1]
            at -= 1
        order[at] = k
        filled[row[k]] += 1
    return order, rows


@compiled(nogil=True, error_model="numpy")
def _joined(
    order: Any,
    rows: Any,
    partner: Any,
    back: Any,
    ahead: Any,
    way: Floats,
    ring: Any,
    length: Floats,
    many: int,
) -> float:
    """Length of the steps that join the lines, place by place: every other row of so many is one of them."""
    free = np.ones(len(order), np.bool_)
    total = 0.0
    for place in range(many):
        for r in range(place, len(rows) - 1, many):
            for at in order[rows[r] : rows[r + 1]]:
                while free[at]:
                    far_end = partner[at]
                    free[at] = free[far_end] = False
                    nearest, following = LONGEST_STEP_MM, at
                    for to, sense in ((back[far_end], -1.0), (ahead[far_end], 1.0)):
                        far = (sense * (way[to] - way[far_end])) % length[ring[far_end]]
                        if free[to] and far <= nearest:
                            nearest, following = far, to
                    if following != at:
                        total += nearest
                    at = following
    return total


@compiled(nogil=True, error_model="numpy")
def _beside(row: Any, ring: Any, rings: int, places_each: int) -> Any:
    """The ends before and after each one on its ring, of those in the same place of the grid."""
    many, kinds = len(row), rings * places_each
    back, ahead = np.empty(many, np.int64), np.empty(many, np.int64)
    first, last = np.full(kinds, -1), np.full(kinds, -1)
    for k in range(many):
        kind = ring[k] * places_each + row[k] % places_each
        if last[kind] >= 0:
            back[k], ahead[last[kind]] = last[kind], k
        else:
            first[kind] = k
        last[kind] = k
    for kind in range(kinds):
        if first[kind] >= 0:
            back[first[kind]], ahead[last[kind]] = last[kind], first[kind]
    return back, ahead
