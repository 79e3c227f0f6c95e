"""Circles that fill an outline: the proxy for how deep two outlines overlap.

Source: J. Gardeyn and T. Wauters, "An open-source heuristic to reboot 2D nesting research",
arXiv 2509.13329: the overlap of two shapes is judged by the overlap of their largest inscribed circles.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.nesting.problem.depth_kernel import depth_inside

Points = NDArray[np.float64]

_GRID = 1600  # points at which a centre is looked for
_MOST = 16  # circles a shape
_ENOUGH = 0.9  # share of the area after which eight circles will do
_LEAST = 0.08  # a circle smaller than this share of the first one adds nothing


def poles(outer: Points) -> Points:
    """Centres and radii (n, 3) of circles inside the ring, largest first, none overlapping another."""
    outer = np.ascontiguousarray(outer, dtype=np.float64)
    low, high = outer.min(axis=0), outer.max(axis=0)
    size = high - low
    cell = float(np.sqrt(size[0] * size[1] / _GRID))
    columns, rows = (max(int(np.ceil(s / cell)), 9) for s in size)
    xs = low[0] + (np.arange(columns) + 0.5) * size[0] / columns
    ys = low[1] + (np.arange(rows) + 0.5) * size[1] / rows
    points = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    depth = depth_inside(points, outer)
    points, depth = points[depth > 0.0], depth[depth > 0.0]
    area = abs(float(np.dot(outer[:, 0], np.roll(outer[:, 1], -1) - np.roll(outer[:, 1], 1)))) / 2.0
    found: list[tuple[float, float, float]] = []
    covered = 0.0
    while len(points) and len(found) < _MOST:
        centre, radius = _refined(points[depth.argmax()], cell, outer, found)
        if found and radius < _LEAST * found[0][2]:
            break
        found.append((float(centre[0]), float(centre[1]), radius))
        covered += np.pi * radius**2
        if len(found) >= 8 and covered >= _ENOUGH * area:
            break
        depth = np.minimum(depth, np.hypot(*(points - centre).T) - radius)
    if not found:  # thinner than the grid: the middle of the box stands for it
        middle = (low + high) / 2.0
        found = [(float(middle[0]), float(middle[1]), float(min(size)) / 2.0)]
    return np.array(found)


def _refined(
    start: Points, cell: float, outer: Points, found: list[tuple[float, float, float]]
) -> tuple[Points, float]:
    """Walk from the best grid point to the deepest place nearby."""
    offsets = np.stack(np.meshgrid([-1.0, 0.0, 1.0], [-1.0, 0.0, 1.0]), axis=-1).reshape(-1, 2)
    centre, step = start, cell / 2.0
    best = -np.inf
    for _ in range(8):
        around = centre + offsets * step
        depth = depth_inside(around, outer)
        for x, y, r in found:
            depth = np.minimum(depth, np.hypot(around[:, 0] - x, around[:, 1] - y) - r)
        top = int(depth.argmax())
        if depth[top] > best:
            best, centre = float(depth[top]), around[top]
        step /= 2.0
    return centre, max(best, 1e-9)
