"""The shadow of facets on a grid of small cells, and the outlines of the cells that it touches."""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]

_ONE = np.uint64(1)
_ALL = np.uint64(0xFFFFFFFFFFFFFFFF)


@njit(cache=True, nogil=True, inline="always")
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


@njit(cache=True, nogil=True)
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


@njit(cache=True, nogil=True, inline="always")
def _set(grid: Any, x: int, y: int) -> Any:
    return (grid[y, x >> 6] >> np.uint64(x & 63)) & _ONE != 0


@njit(cache=True, nogil=True)
def outlines(grid: Any) -> Any:
    """Corner points of the outlines of the set cells, the set cells on their left.

    Returns points (p, 2) in cells and where each outline begins (r + 1,). Cells that touch at a
    corner belong together.
    """
    rows, words = grid.shape
    walked = np.zeros((rows, words), np.uint64)
    points = np.empty((4096, 2))
    starts = np.empty(64, np.int64)
    count, rings = 0, 0
    for j in range(rows):
        carry = np.uint64(0)
        for w in range(words):
            bits = grid[j, w]
            edges = bits & ~((bits << _ONE) | carry) & ~walked[j, w]
            carry = bits >> np.uint64(63)
            while edges != 0:
                k = 0
                while (edges >> np.uint64(k)) & _ONE == 0:
                    k += 1
                edges &= edges - _ONE
                if (walked[j, w] >> np.uint64(k)) & _ONE != 0:
                    continue
                if rings + 2 > starts.shape[0]:
                    more = np.empty(2 * starts.shape[0], np.int64)
                    more[:rings] = starts[:rings]
                    starts = more
                starts[rings] = count
                rings += 1
                x0, y0 = w * 64 + k, j + 1
                x, y, dx, dy = x0, y0, 0, -1
                while True:
                    if dy == -1:
                        walked[y - 1, x >> 6] |= _ONE << np.uint64(x & 63)
                    x, y = x + dx, y + dy
                    # cells ahead of the corner, left and right of the way
                    lx = x + (dx - dy - 1) // 2
                    ly = y + (dy + dx - 1) // 2
                    rx = x + (dx + dy - 1) // 2
                    ry = y + (dy - dx - 1) // 2
                    if _set(grid, rx, ry):
                        nx, ny = dy, -dx
                    elif _set(grid, lx, ly):
                        nx, ny = dx, dy
                    else:
                        nx, ny = -dy, dx
                    if nx != dx or ny != dy:
                        if count + 1 > points.shape[0]:
                            wider = np.empty((2 * points.shape[0], 2))
                            wider[:count] = points[:count]
                            points = wider
                        points[count, 0], points[count, 1] = x, y
                        count += 1
                    dx, dy = nx, ny
                    if x == x0 and y == y0 and dx == 0 and dy == -1:
                        break
    starts[rings] = count
    return points[:count].copy(), starts[: rings + 1].copy()
