"""Compiled: do two shapes overlap, and how badly.

Whether they overlap is judged by their edges; how badly by the circles that fill them.
Source of the proxy: J. Gardeyn and T. Wauters, arXiv 2509.13329.

Shape a is a row block of ``a`` (turned, not shifted) shifted by (dx, dy); b lies in bed coordinates.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.nesting.problem.array_layout import NEXT, PR, PX, PY, VX, VY

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

EPSILON = 0.01  # share of the diameter below which the overlap of two circles decays


@compiled(nogil=True)
def edges_cross(
    a: Floats,
    count: Ints,
    s: int,
    na: int,
    dx: float,
    dy: float,
    lie: Floats,
    j: int,
    t: int,
    nb: int,
    x0: float,
    y0: float,
    x1: float,
    y1: float,
    kept: Floats,
) -> bool:
    """Whether an edge of a properly crosses one of piece j inside the box."""
    many = 0
    for e in range(na):
        f = count[s, NEXT, e]
        px, py, qx, qy = a[VX, e] + dx, a[VY, e] + dy, a[VX, f] + dx, a[VY, f] + dy
        lx, hx, ly, hy = min(px, qx), max(px, qx), min(py, qy), max(py, qy)
        if hx >= x0 and lx <= x1 and hy >= y0 and ly <= y1:
            kept[0, many], kept[1, many], kept[2, many], kept[3, many] = px, py, qx, qy
            kept[4, many], kept[5, many], kept[6, many], kept[7, many] = lx, hx, ly, hy
            many += 1
    if many == 0:
        return False
    for e in range(nb):
        f = count[t, NEXT, e]
        px, py, qx, qy = lie[j, VX, e], lie[j, VY, e], lie[j, VX, f], lie[j, VY, f]
        lx, hx, ly, hy = min(px, qx), max(px, qx), min(py, qy), max(py, qy)
        if hx < x0 or lx > x1 or hy < y0 or ly > y1:
            continue
        ux, uy = qx - px, qy - py
        for k in range(many):
            if kept[5, k] < lx or kept[4, k] > hx or kept[7, k] < ly or kept[6, k] > hy:
                continue
            cx, cy, ex, ey = kept[0, k], kept[1, k], kept[2, k], kept[3, k]
            if (ux * (cy - py) - uy * (cx - px)) * (ux * (ey - py) - uy * (ex - px)) < 0.0:
                wx, wy = ex - cx, ey - cy
                if (wx * (py - cy) - wy * (px - cx)) * (wx * (qy - cy) - wy * (qx - cx)) < 0.0:
                    return True
    return False


@compiled(nogil=True)
def inside_piece(x: float, y: float, count: Ints, lie: Floats, j: int, t: int, nb: int) -> bool:
    """Even-odd rule over all rings of piece j, so that an opening is outside."""
    odd = False
    for e in range(nb):
        f = count[t, NEXT, e]
        py, qy = lie[j, VY, e], lie[j, VY, f]
        if (py > y) != (qy > y) and x < lie[j, VX, e] + (y - py) / (qy - py) * (
            lie[j, VX, f] - lie[j, VX, e]
        ):
            odd = not odd
    return odd


@compiled(nogil=True)
def inside_shape(x: float, y: float, count: Ints, a: Floats, s: int, na: int) -> bool:
    """The same for the turned shape a."""
    odd = False
    for e in range(na):
        f = count[s, NEXT, e]
        py, qy = a[VY, e], a[VY, f]
        if (py > y) != (qy > y) and x < a[VX, e] + (y - py) / (qy - py) * (a[VX, f] - a[VX, e]):
            odd = not odd
    return odd


@compiled(nogil=True)
def circles_touch(
    a: Floats, na: int, dx: float, dy: float, shape: Floats, t: int, lie: Floats, j: int, nb: int
) -> bool:
    """Whether any circle of a overlaps one of piece j: then the shapes surely do."""
    for p in range(na):
        x, y, r = a[PX, p] + dx, a[PY, p] + dy, a[PR, p]
        for q in range(nb):
            u, v, w = lie[j, PX, q] - x, lie[j, PY, q] - y, r + shape[t, PR, q]
            if u * u + v * v < w * w * 0.999999:
                return True
    return False


@compiled(nogil=True)
def overlap(
    a: Floats,
    na: int,
    dx: float,
    dy: float,
    shape: Floats,
    t: int,
    lie: Floats,
    j: int,
    nb: int,
    epsilon: float,
) -> float:
    """Sum over all pairs of circles of depth times the smaller radius; it decays where they are apart."""
    total = 0.0
    square = epsilon * epsilon
    for p in range(na):
        x, y, r = a[PX, p] + dx, a[PY, p] + dy, a[PR, p]
        for q in range(nb):
            u, v, w = lie[j, PX, q] - x, lie[j, PY, q] - y, shape[t, PR, q]
            depth = r + w - math.sqrt(u * u + v * v)
            if depth < epsilon:
                depth = square / (2.0 * epsilon - depth)
            total += depth * min(r, w)
    return total * math.pi + square


@compiled(nogil=True)
def _out_of(x: float, y: float, r: float, ring: Floats, first: int, last: int) -> float:
    """How far a circle sticks out of a ring, rows VX and VY of ``ring``, times its radius."""
    near, odd = 1e300, False
    px, py = ring[VX, last - 1], ring[VY, last - 1]
    for e in range(first, last):
        qx, qy = ring[VX, e], ring[VY, e]
        ux, uy = qx - px, qy - py
        t = min(1.0, max(0.0, ((x - px) * ux + (y - py) * uy) / (ux * ux + uy * uy + 1e-300)))
        gx, gy = x - px - t * ux, y - py - t * uy
        near = min(near, gx * gx + gy * gy)
        if (py > y) != (qy > y) and x < px + (y - py) / uy * ux:
            odd = not odd
        px, py = qx, qy
    depth = r - math.sqrt(near) if odd else r + math.sqrt(near)
    return max(depth, 0.0) * r


@compiled(nogil=True)
def shape_out_of_piece(
    a: Floats, na: int, dx: float, dy: float, lie: Floats, j: int, first: int, last: int, epsilon: float
) -> float:
    """How far the circles of a stick out of the opening of piece j."""
    total = 0.0
    for p in range(na):
        total += _out_of(a[PX, p] + dx, a[PY, p] + dy, a[PR, p], lie[j], first, last)
    return total * math.pi + epsilon * epsilon


@compiled(nogil=True)
def piece_out_of_shape(
    a: Floats,
    dx: float,
    dy: float,
    first: int,
    last: int,
    shape: Floats,
    t: int,
    lie: Floats,
    j: int,
    nb: int,
    epsilon: float,
) -> float:
    """How far the circles of piece j stick out of the opening of a."""
    total = 0.0
    for q in range(nb):
        total += _out_of(lie[j, PX, q] - dx, lie[j, PY, q] - dy, shape[t, PR, q], a, first, last)
    return total * math.pi + epsilon * epsilon
