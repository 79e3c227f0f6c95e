"""Rings of unlike length, kept one after the other: some of them picked."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Index = NDArray[np.int64]


def stretches(starts: Index, order: Index) -> tuple[Index, Index]:
    """Numbers that the stretches of ``order`` hold, one after the other, and where each begins."""
    sizes = np.diff(starts)[order]
    ends = np.concatenate([[0], np.cumsum(sizes)]).astype(np.int64)
    at = np.repeat(starts[:-1][order] - ends[:-1], sizes) + np.arange(ends[-1])
    return at.astype(np.int64), ends


def picked(
    points: NDArray[np.float64], starts: Index, plane: Index, some: Index
) -> tuple[NDArray[np.float64], Index, Index]:
    """Points, starts of rings, (r + 1,), and starts of sections, (k + 1,), of some sections in that order."""
    ring_at, sections = stretches(plane, some)
    point_at, rings = stretches(starts, ring_at)
    return np.ascontiguousarray(points[point_at]), rings, sections
