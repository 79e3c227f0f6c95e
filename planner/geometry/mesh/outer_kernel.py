"""Rays from spots on a surface: which of them leave without meeting it again."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]
BLOCK = 16  # facets that share a box; a ray that misses the box misses them all
_ROUNDING = 1e-7  # of its size and place by which a box is taken wider


@compiled(nogil=True)
def boxes_of(triangles: Floats) -> Floats:
    """Low and high corner (n, 6) of each run of ``BLOCK`` facets, a little wider than they are."""
    many = triangles.shape[0]
    boxes = np.empty(((many + BLOCK - 1) // BLOCK, 6))
    for b in range(boxes.shape[0]):
        last = min(many, (b + 1) * BLOCK)
        for axis in range(3):
            low, high = np.inf, -np.inf
            for t in range(b * BLOCK, last):
                for corner in range(3):
                    low, high = min(low, triangles[t, corner, axis]), max(high, triangles[t, corner, axis])
            pad = _ROUNDING * (1.0 + abs(low) + abs(high))
            boxes[b, axis], boxes[b, axis + 3] = low - pad, high + pad
    return boxes


@compiled(nogil=True)
def _met(box: Floats, x: float, y: float, z: float, dx: float, dy: float, dz: float) -> bool:
    """Whether a ray meets a box (Source: T. L. Kay, J. T. Kajiya, Ray Tracing Complex Scenes, 1986)."""
    near, far = 0.0, np.inf
    for axis in range(3):
        at = x if axis == 0 else (y if axis == 1 else z)
        step = dx if axis == 0 else (dy if axis == 1 else dz)
        low, high = box[axis] - at, box[axis + 3] - at
        if abs(step) < 1e-12:
            if low > 0.0 or high < 0.0:
                return False
            continue
        first, second = low / step, high / step
        if first > second:
            first, second = second, first
        near, far = max(near, first), min(far, second)
        if near > far:
            return False
    return True


@compiled(nogil=True)
def leaving(triangles: Floats, boxes: Floats, spots: Floats, ways: Floats, least: float) -> NDArray[np.bool_]:
    """Whether the ray from each spot (s, 3) along its way (s, 3) meets no facet beyond ``least`` mm.

    Source: T. Moeller, B. Trumbore, Fast, Minimum Storage Ray/Triangle Intersection, 1997.
    """
    free = np.ones(spots.shape[0], np.bool_)
    for s in range(spots.shape[0]):
        x, y, z = spots[s, 0], spots[s, 1], spots[s, 2]
        dx, dy, dz = ways[s, 0], ways[s, 1], ways[s, 2]
        for b in range(boxes.shape[0]):
            if not free[s]:
                break
            if not _met(boxes[b], x, y, z, dx, dy, dz):
                continue
            for t in range(b * BLOCK, min(triangles.shape[0], (b + 1) * BLOCK)):
                ax, ay, az = triangles[t, 0, 0], triangles[t, 0, 1], triangles[t, 0, 2]
                ux, uy, uz = triangles[t, 1, 0] - ax, triangles[t, 1, 1] - ay, triangles[t, 1, 2] - az
                vx, vy, vz = triangles[t, 2, 0] - ax, triangles[t, 2, 1] - ay, triangles[t, 2, 2] - az
                px, py, pz = dy * vz - dz * vy, dz * vx - dx * vz, dx * vy - dy * vx
                turn = ux * px + uy * py + uz * pz
                if abs(turn) < 1e-12:
                    continue
                sx, sy, sz = x - ax, y - ay, z - az
                first = (sx * px + sy * py + sz * pz) / turn
                if first < 0.0 or first > 1.0:
                    continue
                qx, qy, qz = sy * uz - sz * uy, sz * ux - sx * uz, sx * uy - sy * ux
                second = (dx * qx + dy * qy + dz * qz) / turn
                if second < 0.0 or first + second > 1.0:
                    continue
                if (vx * qx + vy * qy + vz * qz) / turn > least:
                    free[s] = False
                    break
    return free
