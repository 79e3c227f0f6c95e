"""Compiled sums over the facets of each connected surface."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]


@compiled()
def shell_sums(
    triangles: Floats, shell: NDArray[np.int64], count: int
) -> tuple[Floats, Floats, Floats, NDArray[np.int64]]:
    """Signed volume (n,), lowest and highest corner (n, 3), and facets without area (n,) of each surface.

    Volumes are taken about the first corner met of each surface, so that one far from the origin
    loses no digits (geometry: signed tetrahedra).
    """
    volume = np.zeros(count, dtype=np.float64)
    low = np.full((count, 3), np.inf)
    high = np.full((count, 3), -np.inf)
    flat = np.zeros(count, dtype=np.int64)
    pivot = np.zeros((count, 3), dtype=np.float64)
    met = np.zeros(count, dtype=np.bool_)
    for f in range(len(triangles)):
        s = shell[f]
        if not met[s]:
            met[s] = True
            pivot[s] = triangles[f, 0]
        for k in range(3):
            for axis in range(3):
                low[s, axis] = min(low[s, axis], triangles[f, k, axis])
                high[s, axis] = max(high[s, axis], triangles[f, k, axis])
        ax, ay, az = triangles[f, 0]
        ux, uy, uz = triangles[f, 1, 0] - ax, triangles[f, 1, 1] - ay, triangles[f, 1, 2] - az
        vx, vy, vz = triangles[f, 2, 0] - ax, triangles[f, 2, 1] - ay, triangles[f, 2, 2] - az
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        if nx == 0.0 and ny == 0.0 and nz == 0.0:
            flat[s] += 1
        volume[s] += ((ax - pivot[s, 0]) * nx + (ay - pivot[s, 1]) * ny + (az - pivot[s, 2]) * nz) / 6.0
    return volume, low, high, flat
