"""Compiled: how deep points lie inside a ring."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]


@compiled(nogil=True)
def depth_inside(points: Floats, ring: Floats) -> Floats:
    """Distance of points (k, 2) to the ring (n, 2), positive inside by the even-odd rule (geometry)."""
    depth = np.empty(len(points))
    n = len(ring)
    for k in range(len(points)):
        x, y = points[k, 0], points[k, 1]
        near, odd = np.inf, False
        for e in range(n):
            f = e + 1 if e + 1 < n else 0
            ax, ay = ring[e, 0], ring[e, 1]
            ux, uy = ring[f, 0] - ax, ring[f, 1] - ay
            square = ux * ux + uy * uy
            if square == 0.0:
                continue
            along = min(1.0, max(0.0, ((x - ax) * ux + (y - ay) * uy) / square))
            gx, gy = x - ax - along * ux, y - ay - along * uy
            near = min(near, gx * gx + gy * gy)
            if (ay > y) != (ay + uy > y) and x < ax + (y - ay) / uy * ux:
                odd = not odd
        depth[k] = math.sqrt(near) if odd else -math.sqrt(near)
    return depth
