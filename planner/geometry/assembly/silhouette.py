"""The outlines of a body seen from one side, coarse enough for a drawing."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar import polygon

Floats = NDArray[np.float64]

CELLS = 500  # across the larger side: the outlines are drawn to a thousandth or so of the body
LEAST_CELL = 0.1  # mm
LEAST_OPENING = 100  # cells; smaller openings are closed


def silhouette(triangles: Floats) -> list[Floats]:
    """Rings of the shadow of (m, 3, 3) facets that is seen along z, x and y as they are, mm.

    Outer rings run counter-clockwise, openings clockwise. The rings lie within about two cells of
    the true shadow (Source: geometry, cells that a facet touches).
    """
    from planner.geometry.planar.shadow_kernel import outlines, shade

    whole = np.ascontiguousarray(triangles)
    corners = whole.reshape(-1, 3)
    low, size = corners.min(axis=0), np.ptp(corners, axis=0)
    cell = max(float(size[:2].max()) / CELLS, LEAST_CELL)
    rows, columns = int(size[1] / cell) + 4, int(size[0] / cell) + 4
    whole.setflags(write=False)  # as those of a mesh: compiled code tells them apart
    points, starts = outlines(shade(whole, low, cell, rows, columns, True))[:2]
    rings = [points[a:b] for a, b in itertools.pairwise(starts.tolist())]
    kept = [ring for ring in rings if not -LEAST_OPENING < polygon.signed_area(ring) <= 0.0]
    return [(ring - 1.0) * cell + low[:2] for ring in polygon.simplified(kept, 1.5)]
