"""Meshes made light for the screen: a few thousand triangles, never used for a number."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Triangles = NDArray[np.float32]
MOST = 3000  # triangles of one part on the screen
COARSE = 1000  # where many parts are on the screen at once
_FINEST = 96  # cells along the longest side
_COARSEST = 8


def light(triangles: NDArray[np.float64], most: int = MOST) -> Triangles:
    """At most about ``most`` triangles, (m, 3, 3) float32 mm.

    Corners are drawn together in cells of a cube grid; what falls into a point or line goes.
    Source: Rossignac and Borrel 1993, multi-resolution 3D approximations (vertex clustering).
    """
    if len(triangles) <= most:
        return triangles.astype(np.float32)
    corners = triangles.reshape(-1, 3)
    low = corners.min(axis=0)
    longest = float((corners.max(axis=0) - low).max())
    cells = _FINEST
    while True:
        found = _clustered(corners, low, longest / cells)
        if len(found) <= most or cells <= _COARSEST:
            return found
        cells = max(_COARSEST, min(cells - 4, int(cells * (most / len(found)) ** 0.5)))


def _clustered(corners: NDArray[np.float64], low: NDArray[np.float64], size: float) -> Triangles:
    cell = ((corners - low) / size).astype(np.int64)
    key = (cell[:, 0] * 4096 + cell[:, 1]) * 4096 + cell[:, 2]
    _, place = np.unique(key, return_inverse=True)
    count = np.bincount(place)
    middle = np.stack([np.bincount(place, corners[:, axis]) / count for axis in range(3)], axis=1)
    faces = place.reshape(-1, 3)
    a, b, c = faces.T
    faces = faces[(a != b) & (b != c) & (a != c)]
    turned = np.roll(faces, 1, axis=1), np.roll(faces, 2, axis=1)
    first = faces.argmin(axis=1)[:, None]
    faces = np.where(first == 0, faces, np.where(first == 1, turned[1], turned[0]))
    faces = np.unique(faces, axis=0)
    light_ones: Triangles = middle[faces].astype(np.float32)
    return light_ones


def normals_of(triangles: Triangles) -> Triangles:
    """Unit normals, (m, 3)."""
    cross = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    length = np.linalg.norm(cross, axis=1, keepdims=True)
    unit: Triangles = (cross / np.where(length > 0.0, length, 1.0)).astype(np.float32)
    return unit
