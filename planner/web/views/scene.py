"""Meshes made light for the screen; never used for a number."""

from __future__ import annotations

import threading

import numpy as np
from numpy.typing import NDArray

from planner.errors import MissingExtra

Triangles = NDArray[np.float32]
WAY = "edges 2"  # how it is done: kept meshes of another way are made anew
MOST = 24_000  # triangles of one part on the screen
COARSE = 4500  # where many parts are on the screen at once
_EAGER = 5  # of 10; measured: more tears small ribs, less stays far above what was asked for
_ONE_AT_A_TIME = threading.Lock()  # the library keeps its mesh in one place for all threads, over three calls


def light(triangles: NDArray[np.float64], most: int = MOST) -> Triangles:
    """At most about ``most`` triangles, (m, 3, 3) float32 mm.

    Edges are drawn together, those first that move the surface least: skins stay whole, holes stay holes.
    Source: Garland and Heckbert 1997, surface simplification using quadric error metrics; by the library
    fast-simplification. A mesh that its topology does not let become as light stays heavier.

    Raises
    ------
    MissingExtra
        when the library is needed and not installed
    """
    if len(triangles) <= most:
        return triangles.astype(np.float32)
    try:
        import fast_simplification
    except ImportError as error:
        raise MissingExtra(
            "large meshes are shown by the package fast-simplification, which is not installed.",
            next_step='Install it with: pip install "airframe-print-planner[page]"',
        ) from error
    low = triangles.reshape(-1, 3).min(axis=0)
    corners = (triangles.reshape(-1, 3) - low).astype(np.float32)  # far from the origin, digits would be lost
    points, place = np.unique(corners, axis=0, return_inverse=True)
    faces = place.reshape(-1, 3).astype(np.int32)
    a, b, c = faces.T
    faces = np.ascontiguousarray(faces[(a != b) & (b != c) & (a != c)])
    if len(faces) > most:
        with _ONE_AT_A_TIME:
            points, faces = fast_simplification.simplify(
                np.ascontiguousarray(points), faces, target_count=most, agg=_EAGER
            )
    made: Triangles = (points[faces].astype(np.float64) + low).astype(np.float32)
    return made


def normals_of(triangles: Triangles) -> Triangles:
    """Unit normals, (m, 3)."""
    cross = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    length = np.linalg.norm(cross, axis=1, keepdims=True)
    unit: Triangles = (cross / np.where(length > 0.0, length, 1.0)).astype(np.float32)
    return unit
