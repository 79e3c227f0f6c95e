"""Compiled: how far a posed shape sticks out of its bed or into what must be kept free."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.nesting.problem.array_layout import (
    BX0,
    BX1,
    BY0,
    BY1,
    CR,
    CX,
    CY,
    DIAMETER,
    HX,
    HX0,
    HX1,
    HY,
    HY0,
    HY1,
    MANY,
    MEASURE,
    NH,
    NP,
    NT,
    PR,
    PX,
    PY,
    SIZE,
    TX,
    TY,
    WALL_MEASURE,
    WPR,
    WPX,
    WPY,
    WX,
    WY,
)
from planner.nesting.separation.pair_kernel import EPSILON

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@compiled(nogil=True)
def bed_loss(
    shape: Floats,
    count: Ints,
    s: int,
    x: float,
    y: float,
    bed: Floats,
    first: Ints,
    wall: Floats,
    kind: int,
    a: Floats,
    frame: Floats,
    kept: Floats,
) -> float:
    """Loss of the posed shape s at (x, y) against the bed of a kind; 0 when it lies well."""
    x0, y0, x1, y1 = frame[HX0] + x, frame[HY0] + y, frame[HX1] + x, frame[HY1] + y
    bx0, by0, bx1, by1 = bed[kind, BX0], bed[kind, BY0], bed[kind, BX1], bed[kind, BY1]
    out = 0.0
    if x0 < bx0 or y0 < by0 or x1 > bx1 or y1 > by1:
        whole = (x1 - x0) * (y1 - y0)
        wide, deep = min(x1, bx1) - max(x0, bx0), min(y1, by1) - max(y0, by0)
        if wide > 0.0 and deep > 0.0:
            out += whole - wide * deep
        else:
            out += whole + abs(x0 + x1 - bx0 - bx1) + abs(y0 + y1 - by0 - by1)
        out += 1e-12
    r = bed[kind, CR]
    if r > 0.0:
        far = 0.0
        for k in range(count[s, MANY, NH]):
            u, v = a[HX, k] + x - bed[kind, CX], a[HY, k] + y - bed[kind, CY]
            far = max(far, u * u + v * v)
        if far > r * r:
            out += (math.sqrt(far) - r) * shape[s, MEASURE, DIAMETER]
    loss = 0.0
    if out > 0.0:
        loss = 2.0 * math.sqrt(out) * shape[s, MEASURE, SIZE]
    for o in range(first[kind], first[kind + 1]):
        loss += _wall_loss(shape, count, s, x, y, wall, o, a, frame, kept)
    return loss


@compiled(nogil=True)
def _wall_loss(
    shape: Floats,
    count: Ints,
    s: int,
    x: float,
    y: float,
    wall: Floats,
    o: int,
    a: Floats,
    frame: Floats,
    kept: Floats,
) -> float:
    n = int(wall[o, WALL_MEASURE, 2])
    x0, y0, x1, y1 = wall[o, WX, 0], wall[o, WY, 0], wall[o, WX, 0], wall[o, WY, 0]
    for k in range(1, n):
        x0, x1 = min(x0, wall[o, WX, k]), max(x1, wall[o, WX, k])
        y0, y1 = min(y0, wall[o, WY, k]), max(y1, wall[o, WY, k])
    x0, y0 = max(x0, frame[HX0] + x), max(y0, frame[HY0] + y)
    x1, y1 = min(x1, frame[HX1] + x), min(y1, frame[HY1] + y)
    if x0 >= x1 or y0 >= y1:
        return 0.0
    m = count[s, MANY, NT]
    if not (
        _rings_cross(a, m, x, y, wall, o, n, x0, y0, x1, y1, kept)
        or _in_wall(a[PX, 0] + x, a[PY, 0] + y, wall, o, n)
        or _in_bare(wall[o, WPX, 0] - x, wall[o, WPY, 0] - y, a, m)
        or _in_wall(a[TX, 0] + x, a[TY, 0] + y, wall, o, n)
        or _in_bare(wall[o, WX, 0] - x, wall[o, WY, 0] - y, a, m)
        or _circle_in(a, count[s, MANY, NP], x, y, wall, o)
    ):
        return 0.0
    epsilon = EPSILON * max(shape[s, MEASURE, DIAMETER], wall[o, WALL_MEASURE, DIAMETER])
    total, square = 0.0, epsilon * epsilon
    for p in range(count[s, MANY, NP]):
        px, py, r = a[PX, p] + x, a[PY, p] + y, a[PR, p]
        for q in range(int(wall[o, WALL_MEASURE, 3])):
            u, v = wall[o, WPX, q] - px, wall[o, WPY, q] - py
            depth = r + wall[o, WPR, q] - math.sqrt(u * u + v * v)
            if depth < epsilon:
                depth = square / (2.0 * epsilon - depth)
            total += depth * min(r, wall[o, WPR, q])
    return math.sqrt(total * math.pi + square) * math.sqrt(
        shape[s, MEASURE, SIZE] * wall[o, WALL_MEASURE, SIZE]
    )


@compiled(nogil=True)
def _circle_in(a: Floats, many: int, x: float, y: float, wall: Floats, o: int) -> bool:
    """Whether a circle of the shape overlaps one of the wall by more than the clearance could explain.

    Edges that lie on one another do not cross; the circles see what the edges miss. Those of the shape fill
    its grown outline, so only the middle of each is taken.
    """
    for p in range(many):
        px, py = a[PX, p] + x, a[PY, p] + y
        for q in range(int(wall[o, WALL_MEASURE, 3])):
            u, v, r = wall[o, WPX, q] - px, wall[o, WPY, q] - py, wall[o, WPR, q]
            if u * u + v * v < r * r:
                return True
    return False


@compiled(nogil=True)
def _rings_cross(
    a: Floats,
    m: int,
    x: float,
    y: float,
    wall: Floats,
    o: int,
    n: int,
    x0: float,
    y0: float,
    x1: float,
    y1: float,
    kept: Floats,
) -> bool:
    """Whether an edge of the true outline properly crosses one of the wall inside the box."""
    many = 0
    for e in range(m):
        f = e + 1 if e + 1 < m else 0
        px, py, qx, qy = a[TX, e] + x, a[TY, e] + y, a[TX, f] + x, a[TY, f] + y
        if max(px, qx) >= x0 and min(px, qx) <= x1 and max(py, qy) >= y0 and min(py, qy) <= y1:
            kept[0, many], kept[1, many], kept[2, many], kept[3, many] = px, py, qx, qy
            many += 1
    for e in range(n):
        f = e + 1 if e + 1 < n else 0
        px, py = wall[o, WX, e], wall[o, WY, e]
        ux, uy = wall[o, WX, f] - px, wall[o, WY, f] - py
        for k in range(many):
            cx, cy, ex, ey = kept[0, k], kept[1, k], kept[2, k], kept[3, k]
            if (ux * (cy - py) - uy * (cx - px)) * (ux * (ey - py) - uy * (ex - px)) < 0.0:
                wx, wy = ex - cx, ey - cy
                side = wx * (py - cy) - wy * (px - cx)
                if side * (wx * (py + uy - cy) - wy * (px + ux - cx)) < 0.0:
                    return True
    return False


@compiled(nogil=True)
def _in_wall(x: float, y: float, wall: Floats, o: int, n: int) -> bool:
    odd, f = False, n - 1
    for e in range(n):
        py, qy = wall[o, WY, e], wall[o, WY, f]
        if (py > y) != (qy > y) and x < wall[o, WX, e] + (y - py) / (qy - py) * (
            wall[o, WX, f] - wall[o, WX, e]
        ):
            odd = not odd
        f = e
    return odd


@compiled(nogil=True)
def _in_bare(x: float, y: float, a: Floats, m: int) -> bool:
    odd, f = False, m - 1
    for e in range(m):
        py, qy = a[TY, e], a[TY, f]
        if (py > y) != (qy > y) and x < a[TX, e] + (y - py) / (qy - py) * (a[TX, f] - a[TX, e]):
            odd = not odd
        f = e
    return odd
