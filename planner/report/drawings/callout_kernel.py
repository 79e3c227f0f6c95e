"""Compiled: whether a name and its line have room among all that is drawn already."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.report.drawings.label_kernel import _within

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
_LINE = 0.01  # mm by which lettering is wider than tall; round marks are not


@compiled(nogil=True)
def _crossed(a: Any, b: Any) -> bool:
    """Whether two boxes share more than a rim."""
    return bool(a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3])


@compiled(nogil=True)
def _cut(box: Any, x: float, y: float, u: float, v: float) -> bool:
    """Whether a line touches a box (Source: geometry, clipping of a line by Liang and Barsky 1984)."""
    first, last = 0.0, 1.0
    for axis in range(2):
        step = u - x if axis == 0 else v - y
        begin = x if axis == 0 else y
        low, high = box[axis] - begin, box[axis + 2] - begin
        if abs(step) < 1e-12:
            if low > 0.0 or high < 0.0:
                return False
            continue
        near, far = low / step, high / step
        if near > far:
            near, far = far, near
        first, last = max(first, near), min(last, far)
    return first <= last


@compiled(nogil=True)
def _side(p: Any, q: Any, x: float, y: float) -> float:
    return float((q[0] - p[0]) * (y - p[1]) - (q[1] - p[1]) * (x - p[0]))


@compiled(nogil=True)
def _met(a: Any, b: Any) -> bool:
    """Whether two lines (4,) cross."""
    return (
        _side(a[:2], a[2:], b[0], b[1]) * _side(a[:2], a[2:], b[2], b[3]) < 0.0
        and _side(b[:2], b[2:], a[0], a[1]) * _side(b[:2], b[2:], a[2], a[3]) < 0.0
    )


@compiled(nogil=True)
def _clear(box: Any, corners: Floats, starts: Ints, boxes: Floats) -> bool:
    """Whether a box stays off the area of all outlines: cuts no side, and no corner of it lies inside."""
    for r in range(boxes.shape[0]):
        if not _crossed(box, boxes[r]):
            continue
        ring = corners[starts[r] : starts[r + 1]]
        n = ring.shape[0]
        for k in range(n):
            j = k + 1 if k + 1 < n else 0
            if _cut(box, ring[k, 0], ring[k, 1], ring[j, 0], ring[j, 1]):
                return False
        if _within(ring, box[0], box[1]):
            return False
    return True


@compiled(nogil=True)
def _free(
    box: Floats, leader: Floats, led: bool, mark: Floats, taken: Floats, names: Floats, leaders: Floats
) -> bool:
    """Whether a name and the line to its mark touch neither one another's names nor lines."""
    for k in range(taken.shape[0]):
        if _crossed(box, taken[k]):
            return False
    for k in range(names.shape[0]):
        if _crossed(box, names[k]):
            return False
        if led and _cut(names[k], leader[0], leader[1], leader[2], leader[3]):
            return False
    for k in range(leaders.shape[0]):
        if _cut(box, leaders[k, 0], leaders[k, 1], leaders[k, 2], leaders[k, 3]):
            return False
        if led and _met(leader, leaders[k]):
            return False
    if not led:
        return True
    for k in range(taken.shape[0]):
        wide, tall = taken[k, 2] - taken[k, 0], taken[k, 3] - taken[k, 1]
        if wide <= tall + _LINE:
            continue  # lettering of the frame is kept clear; round marks may be passed
        own = taken[k, 0] <= mark[0] <= taken[k, 2] and taken[k, 1] <= mark[1] <= taken[k, 3]
        if not own and _cut(taken[k], leader[0], leader[1], leader[2], leader[3]):
            return False
    return True


@compiled(nogil=True)
def first_free(
    names_boxes: Floats,
    lines: Floats,
    mark: Floats,
    bounds: Floats,
    taken: Floats,
    names: Floats,
    leaders: Floats,
    corners: Floats,
    starts: Ints,
    boxes: Floats,
) -> int:
    """The first of the places of a name that is free, or -1.

    ``names_boxes`` and ``lines`` (k, 4) are the place of the name and the line from its mark, not a
    number where there is none; ``taken``, ``names`` (m, 4) boxes and ``leaders`` (m, 4) lines are there.
    """
    for p in range(names_boxes.shape[0]):
        box = names_boxes[p]
        if not (box[0] >= bounds[0] and box[1] >= bounds[1] and box[2] <= bounds[2] and box[3] <= bounds[3]):
            continue
        led = not np.isnan(lines[p, 0])
        if _free(box, lines[p], led, mark, taken, names, leaders) and _clear(box, corners, starts, boxes):
            return p
    return -1
