"""How much of a mesh's surface looks outward into the open, and where: what paint covers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh, Triangles

SPOTS = 1500  # spread evenly over the surface: the share is known to about one in a hundred
_BITS = 10  # of a cell along each axis
_TOUCHES = 1e-3  # mm; nearer than this a ray meets the facet that it starts from


@dataclass(frozen=True, slots=True)
class OuterSurface:
    """What paint covers of a mesh: its area, and its middle in the coordinates of the mesh."""

    area_mm2: float
    middle_mm: tuple[float, float, float]


def outer_surface(mesh: TriangleMesh) -> OuterSurface:
    """Area and middle of the surface from which the straight way out, along the normal, is free.

    Insides of hulls, bores and slits look at another wall and do not count; neither do the few spots
    of a hollow outside that look at the part itself. Spots follow one another along the surface at
    equal areas (systematic sampling), so that the same mesh gives the same area. The middle is that
    of the free spots, mended by how far all spots miss the middle of the whole surface (Source:
    control variates): it is exact where all is free.
    """
    from planner.geometry.mesh.outer_kernel import boxes_of, leaving

    triangles = mesh.triangles
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    double = np.linalg.norm(normal, axis=1)
    grown = np.cumsum(double)
    if grown[-1] <= 0.0:
        return OuterSurface(0.0, (0.0, 0.0, 0.0))
    marks = (np.arange(SPOTS) + 0.5) / SPOTS * grown[-1]
    facet = np.minimum(np.searchsorted(grown, marks), len(triangles) - 1)
    # where the mark falls within its facet decides how far across the spot lies; golden steps the rest
    share = np.clip((marks - (grown[facet] - double[facet])) / double[facet], 1e-6, 1.0 - 1e-6)
    root = np.sqrt(share)[:, None]
    turn = ((np.arange(SPOTS) * 0.6180339887498949) % 1.0)[:, None]
    a, b, c = (triangles[facet, k] for k in range(3))
    spots = (1.0 - root) * a + root * (1.0 - turn) * b + root * turn * c
    ways = normal[facet] / double[facet][:, None]
    near = np.ascontiguousarray(triangles[_neighbours_together(triangles)])
    free = leaving(near, boxes_of(near), np.ascontiguousarray(spots), np.ascontiguousarray(ways), _TOUCHES)
    share_free = float(free.mean())
    if share_free <= 0.0:
        return OuterSurface(0.0, (0.0, 0.0, 0.0))
    whole = double @ triangles.mean(axis=1) / grown[-1]
    x, y, z = (spots[free].mean(axis=0) + whole - spots.mean(axis=0)).tolist()
    return OuterSurface(float(0.5 * grown[-1]) * share_free, (x, y, z))


def _neighbours_together(triangles: Triangles) -> NDArray[np.int64]:
    """Facets in an order in which those that lie near one another mostly follow one another.

    Source: G. M. Morton, A Computer Oriented Geodetic Data Base, 1966: the bits of three numbers interleaved.
    """
    middles = triangles.sum(axis=1)
    low, high = middles.min(axis=0), middles.max(axis=0)
    cells = ((middles - low) / np.maximum(high - low, 1e-12) * (2**_BITS - 1)).astype(np.int64)
    key = np.zeros(len(triangles), dtype=np.int64)
    for bit in range(_BITS):
        for axis in range(3):
            key |= ((cells[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(key, kind="stable")
