"""Compiled: points and boxes against outlines, and the first of many places that is free.

Outlines come as one array of corners (n, 2) and, where there are several, ``starts`` (m + 1,) of each.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_SLABS = 256  # at most; an outline is cut into level slabs, so that a point looks at few sides
_ROUNDING = 1e-6  # mm by which a box about an outline is taken wider before a point is passed over


@compiled(nogil=True)
def _slab(y: float, low: float, high: float, many: int) -> int:
    """The slab in which a height lies; it never falls as the height rises."""
    if high <= low:
        return 0
    at = int((y - low) / (high - low) * many)
    return 0 if at < 0 else (many - 1 if at >= many else at)


@compiled(nogil=True)
def _sides_by_slab(ring: Floats, low: float, high: float, many: int) -> Any:
    """Starts (many + 1,) of the slabs in the list of sides that reach into them, and that list."""
    n = ring.shape[0]
    starts = np.zeros(many + 1, np.int64)
    for k in range(n):
        a, b = ring[k, 1], ring[(k + 1) % n, 1]
        for s in range(_slab(min(a, b), low, high, many), _slab(max(a, b), low, high, many) + 1):
            starts[s + 1] += 1
    starts = np.cumsum(starts)
    filled = starts[:-1].copy()
    sides = np.empty(starts[many], np.int64)
    for k in range(n):
        a, b = ring[k, 1], ring[(k + 1) % n, 1]
        for s in range(_slab(min(a, b), low, high, many), _slab(max(a, b), low, high, many) + 1):
            sides[filled[s]] = k
            filled[s] += 1
    return starts, sides


@compiled(nogil=True)
def _crossed(ring: Floats, k: int, n: int, x: float, y: float) -> bool:
    """Whether a level ray from a point to the right crosses a side."""
    ax, ay = ring[k, 0], ring[k, 1]
    j = k + 1 if k + 1 < n else 0
    bx, by = ring[j, 0], ring[j, 1]
    if (ay > y) == (by > y):
        return False
    return bool(x < ax + (y - ay) * (bx - ax) / (by - ay))


@compiled(nogil=True)
def _within(ring: Floats, x: float, y: float) -> bool:
    """Even-odd rule (Source: geometry, ray casting)."""
    odd = False
    for k in range(ring.shape[0]):
        if _crossed(ring, k, ring.shape[0], x, y):
            odd = not odd
    return odd


@compiled(nogil=True)
def _within_slabs(
    ring: Floats, starts: Ints, sides: Ints, low: float, high: float, x: float, y: float
) -> bool:
    odd = False
    s = _slab(y, low, high, starts.shape[0] - 1)
    for at in range(starts[s], starts[s + 1]):
        if _crossed(ring, sides[at], ring.shape[0], x, y):
            odd = not odd
    return odd


@compiled(nogil=True)
def _square_to(ring: Floats, k: int, n: int, x: float, y: float) -> float:
    """Square of the distance of a point from a side."""
    ax, ay = ring[k, 0], ring[k, 1]
    j = k + 1 if k + 1 < n else 0
    dx, dy = ring[j, 0] - ax, ring[j, 1] - ay
    u, v = x - ax, y - ay
    t = (u * dx + v * dy) / max(dx * dx + dy * dy, 1e-12)
    t = 0.0 if t < 0.0 else (1.0 if t > 1.0 else t)
    u, v = u - t * dx, v - t * dy
    return float(u * u + v * v)


@compiled(nogil=True)
def roomiest_of(ring: Floats, grid: Floats) -> tuple[int, float]:
    """Number of the grid point inside that is farthest from the outline, and how far; -1 where none is."""
    n = ring.shape[0]
    low, high = ring[:, 1].min(), ring[:, 1].max()
    starts, sides = _sides_by_slab(ring, low, high, min(_SLABS, n))
    best, most, most_square = -1, -1.0, -1.0
    for g in range(grid.shape[0]):
        x, y = grid[g, 0], grid[g, 1]
        if not _within_slabs(ring, starts, sides, low, high, x, y):
            continue
        least = np.inf
        for k in range(n):
            square = _square_to(ring, k, n, x, y)
            if square < least:
                least = square
                if least <= most_square:
                    break
        if least > most_square and np.sqrt(least) > most:
            best, most, most_square = g, np.sqrt(least), least
    return best, most


@compiled(nogil=True)
def first_inside(ring: Floats, centres: Floats, rim: Floats) -> int:
    """The first of the centres about which all points of a rim lie inside, or -1."""
    low, high = ring[:, 1].min(), ring[:, 1].max()
    starts, sides = _sides_by_slab(ring, low, high, min(_SLABS, ring.shape[0]))
    for c in range(centres.shape[0]):
        held = True
        for p in range(rim.shape[0]):
            x, y = centres[c, 0] + rim[p, 0], centres[c, 1] + rim[p, 1]
            if not _within_slabs(ring, starts, sides, low, high, x, y):
                held = False
                break
        if held:
            return c
    return -1


@compiled(nogil=True)
def boxes_about(corners: Floats, starts: Ints) -> Floats:
    """Left, low, right and high end of every outline, (m, 4)."""
    boxes = np.empty((starts.shape[0] - 1, 4))
    for r in range(boxes.shape[0]):
        ring = corners[starts[r] : starts[r + 1]]
        boxes[r, 0], boxes[r, 1] = ring[:, 0].min(), ring[:, 1].min()
        boxes[r, 2], boxes[r, 3] = ring[:, 0].max(), ring[:, 1].max()
    return boxes


@compiled(nogil=True)
def first_away(
    places: Floats, corners: Floats, starts: Ints, boxes: Floats, taken: Floats, gap: float
) -> int:
    """The first place that is ``gap`` from all outlines and twice that from all that is taken, or -1."""
    wide = gap + _ROUNDING
    for p in range(places.shape[0]):
        x, y = places[p, 0], places[p, 1]
        free = True
        for k in range(taken.shape[0]):
            if np.hypot(x - taken[k, 0], y - taken[k, 1]) < 2.0 * gap:
                free = False
                break
        for r in range(boxes.shape[0]):
            if not free:
                break
            if x < boxes[r, 0] - wide or x > boxes[r, 2] + wide:
                continue
            if y < boxes[r, 1] - wide or y > boxes[r, 3] + wide:
                continue
            ring = corners[starts[r] : starts[r + 1]]
            free = not _within(ring, x, y)
            for k in range(ring.shape[0]):
                if not free:
                    break
                free = np.sqrt(_square_to(ring, k, ring.shape[0], x, y)) >= gap
        if free:
            return p
    return -1
