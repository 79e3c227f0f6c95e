"""Rays from spots on a surface: which of them leave without meeting it again."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

Floats = NDArray[np.float64]


@njit(cache=True, nogil=True)
def leaving(triangles: Floats, spots: Floats, ways: Floats, least: float) -> NDArray[np.bool_]:
    """Whether the ray from each spot (s, 3) along its way (s, 3) meets no facet beyond ``least`` mm.

    Source: T. Moeller, B. Trumbore, Fast, Minimum Storage Ray/Triangle Intersection, 1997.
    """
    free = np.ones(spots.shape[0], np.bool_)
    for t in range(triangles.shape[0]):
        ax, ay, az = triangles[t, 0, 0], triangles[t, 0, 1], triangles[t, 0, 2]
        ux, uy, uz = triangles[t, 1, 0] - ax, triangles[t, 1, 1] - ay, triangles[t, 1, 2] - az
        vx, vy, vz = triangles[t, 2, 0] - ax, triangles[t, 2, 1] - ay, triangles[t, 2, 2] - az
        for s in range(spots.shape[0]):
            if not free[s]:
                continue
            dx, dy, dz = ways[s, 0], ways[s, 1], ways[s, 2]
            px, py, pz = dy * vz - dz * vy, dz * vx - dx * vz, dx * vy - dy * vx
            turn = ux * px + uy * py + uz * pz
            if abs(turn) < 1e-12:
                continue
            sx, sy, sz = spots[s, 0] - ax, spots[s, 1] - ay, spots[s, 2] - az
            first = (sx * px + sy * py + sz * pz) / turn
            if first < 0.0 or first > 1.0:
                continue
            qx, qy, qz = sy * uz - sz * uy, sz * ux - sx * uz, sx * uy - sy * ux
            second = (dx * qx + dy * qy + dz * qz) / turn
            if second < 0.0 or first + second > 1.0:
                continue
            if (vx * qx + vy * qy + vz * qz) / turn > least:
                free[s] = False
    return free
