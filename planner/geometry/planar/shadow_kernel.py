"""The shadow of facets on a grid of small cells, and the outlines of the cells that it touches."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

_NONE, _ONE = np.uint64(0), np.uint64(1)
_ALL = np.uint64(0xFFFFFFFFFFFFFFFF)

# Steps along an outline, each to the right of the one before, and the cells left and right ahead.
_DX, _DY = np.array([0, -1, 0, 1]), np.array([-1, 0, 1, 0])
_LEFT_X = (_DX - _DY - 1) >> 1
_LEFT_Y = (_DY + _DX - 1) >> 1  # also the way to the right one along x
_RIGHT_Y = (_DY - _DX - 1) >> 1


@compiled(nogil=True, error_model="numpy")
def _fill(grid: Any, j: int, first: int, last: int) -> None:
    """Set cells ``first`` to ``last`` of row ``j``."""
    w0, w1 = first >> 6, last >> 6
    head = _ALL << np.uint64(first & 63)
    tail = _ALL >> np.uint64(63 - (last & 63))
    if w0 == w1:
        grid[j, w0] |= head & tail
        return
    grid[j, w0] |= head
    for w in range(w0 + 1, w1):
        grid[j, w] = _ALL
    grid[j, w1] |= tail


@compiled(nogil=True, error_model="numpy")
def shade(tri: Floats, low: Floats, cell: float, rows: int, columns: int, every: bool) -> Any:
    """Bits (rows, words) of the cells that a facet touches; facets that do not look up only where ``every``.

    Cells have one spare row and column all round, so their outlines never meet the edge.
    """
    grid = np.zeros((rows, (columns + 63) // 64), np.uint64)
    per = 1.0 / cell
    x, y = np.empty(3), np.empty(3)
    left, right = np.empty(rows), np.empty(rows)
    for t in range(tri.shape[0]):
        for k in range(3):
            x[k] = (tri[t, k, 0] - low[0]) * per + 1.0
            y[k] = (tri[t, k, 1] - low[1]) * per + 1.0
        if not every and (x[1] - x[0]) * (y[2] - y[0]) - (x[2] - x[0]) * (y[1] - y[0]) <= 0.0:
            continue
        lowest, highest = min(y[0], y[1], y[2]), max(y[0], y[1], y[2])
        first, last = int(lowest), int(highest)
        if first == last:
            _fill(grid, first, int(min(x[0], x[1], x[2])), int(max(x[0], x[1], x[2])))
            continue
        for j in range(first, last + 1):
            left[j], right[j] = np.inf, -np.inf
        for k in range(3):
            n = k + 1 if k < 2 else 0
            xa, ya, xb, yb = x[k], y[k], x[n], y[n]
            if ya > yb:
                xa, ya, xb, yb = xb, yb, xa, ya
            j0, j1 = int(ya), int(yb)
            if j0 == j1:
                left[j0] = min(left[j0], xa, xb)
                right[j0] = max(right[j0], xa, xb)
                continue
            slope = (xb - xa) / (yb - ya)
            here = xa
            for j in range(j0, j1 + 1):
                there = xa + (j + 1.0 - ya) * slope if j < j1 else xb
                left[j] = min(left[j], here, there)
                right[j] = max(right[j], here, there)
                here = there
        for j in range(first, last + 1):
            _fill(grid, j, int(left[j]), int(right[j]))
    return grid


@compiled(nogil=True, error_model="numpy")
def _walk(grid: Any, walked: Any, x0: int, y0: int, points: Floats, count: int) -> tuple[int, int]:
    """Corners of one outline from the corner (x0, y0) of a left edge; their end (-1: no room), the area."""
    area: int = 0
    x: Any = x0
    y: Any = y0
    d: Any = 0
    while True:
        if d == 0:
            walked[y - 1, x >> 6] |= _ONE << np.uint64(x & 63)
        x, y = x + _DX[d], y + _DY[d]
        area += x * _DY[d]
        # cells ahead of the corner, left and right of the way; no branch on them: where an
        # outline slants no processor foretells its turns
        lx, ly, rx, ry = x + _LEFT_X[d], y + _LEFT_Y[d], x + _LEFT_Y[d], y + _RIGHT_Y[d]
        left = np.int64((grid[ly, lx >> 6] >> np.uint64(lx & 63)) & _ONE)
        right = np.int64((grid[ry, rx >> 6] >> np.uint64(rx & 63)) & _ONE)
        new = (d + right + 3 * (1 - right) * (1 - left)) & 3
        if count >= points.shape[0]:
            return -1, 0
        points[count, 0], points[count, 1] = x, y
        count += 1 if new != d else 0
        d = new
        if x == x0 and y == y0 and d == 0:
            return count, area


@compiled(nogil=True, error_model="numpy")
def _all(grid: Any, points: Floats, starts: Any, areas: Floats) -> int:
    """Every outline of the grid; their number, -1 where the room for them ends."""
    rows, words = grid.shape
    walked = np.zeros((rows, words), np.uint64)
    count, rings = 0, 0
    for j in range(rows):
        carry = _NONE
        for w in range(words):
            bits = grid[j, w]
            edges = bits & ~((bits << _ONE) | carry) & ~walked[j, w]
            carry = bits >> np.uint64(63)
            while edges != _NONE:
                k = 0
                while (edges >> np.uint64(k)) & _ONE == _NONE:
                    k += 1
                edges &= edges - _ONE
                if (walked[j, w] >> np.uint64(k)) & _ONE != _NONE:
                    continue
                end, area = _walk(grid, walked, w * 64 + k, j + 1, points, count)
                if end < 0 or rings == areas.shape[0]:
                    return -1
                starts[rings], areas[rings] = count, area
                count = end
                rings += 1
    starts[rings] = count
    return rings


@compiled(nogil=True, error_model="numpy")
def outlines(grid: Any) -> Any:
    """Corner points of the outlines of the set cells, the set cells on their left.

    Returns points (p, 2) in cells, where each outline begins (r + 1,) and its signed area (r,) in
    cells, exact. Cells that touch at a corner belong together.
    """
    room = 8192
    # arrays that a loop may replace cost it a count of their owners at every turn: begin anew instead
    while True:
        points, starts, areas = np.empty((room, 2)), np.empty(room + 1, np.int64), np.empty(room)
        rings = _all(grid, points, starts, areas)
        if rings >= 0:
            return points[: starts[rings]].copy(), starts[: rings + 1].copy(), areas[:rings].copy()
        room *= 4
