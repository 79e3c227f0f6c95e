"""Compiled: corners as the facets of a binary STL, each with its normal."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

BYTES, _TOLD = 50, 48  # of a facet: twelve numbers of 32 bits, and two bytes that say nothing


@compiled(nogil=True)
def _numbers(
    corners: NDArray[np.float64], x: float, y: float, told: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Normal and corners of each facet, rows of twelve; a facet without area has no normal."""
    point = np.empty((3, 3))
    for facet in range(told.shape[0]):
        for corner in range(3):
            point[corner, 0] = corners[3 * facet + corner, 0] + x
            point[corner, 1] = corners[3 * facet + corner, 1] + y
            point[corner, 2] = corners[3 * facet + corner, 2] + 0.0
            for axis in range(3):
                told[facet, 3 + 3 * corner + axis] = point[corner, axis]
        a0, a1, a2 = point[1, 0] - point[0, 0], point[1, 1] - point[0, 1], point[1, 2] - point[0, 2]
        b0, b1, b2 = point[2, 0] - point[0, 0], point[2, 1] - point[0, 1], point[2, 2] - point[0, 2]
        n0, n1, n2 = a1 * b2 - a2 * b1, a2 * b0 - a0 * b2, a0 * b1 - a1 * b0
        length = math.sqrt(n0 * n0 + n1 * n1 + n2 * n2)
        if length > 0.0:
            told[facet, 0], told[facet, 1], told[facet, 2] = n0 / length, n1 / length, n2 / length
        else:
            told[facet, 0], told[facet, 1], told[facet, 2] = 0.0, 0.0, 0.0
    return told


def facets(corners: NDArray[np.float64], x_mm: float, y_mm: float) -> bytes:
    """Corners (3 m, 3) mm, three after three, shifted along x and y, as m facets of 50 bytes.

    Source of the form: binary STL, normal, three corners, attribute; numbers of 32 bits, little-endian.
    """
    count = len(corners) // 3
    told = _numbers(np.ascontiguousarray(corners), x_mm, y_mm, np.empty((count, 12), np.float32))
    found = np.zeros((count, BYTES), np.uint8)
    found[:, :_TOLD] = told.astype("<f4", copy=False).view(np.uint8)
    return found.tobytes()
