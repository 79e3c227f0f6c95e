"""Regions as the rings and segments that the compiled passes over sections take."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry.planar.inset_kernel import ASKEW_COS, ASKEW_SIN
from planner.geometry.planar.polygon import rings_of

Floats = NDArray[np.float64]
Index = NDArray[np.int64]


def packed(regions: Sequence[shapely.Geometry]) -> tuple[Floats, Index, Index]:
    """Points of all rings, where each ring begins, and where the rings of each region begin."""
    rings = [rings_of(region) for region in regions]
    every = [ring for own in rings for ring in own]
    points = np.ascontiguousarray(np.concatenate([*every, np.empty((0, 2))]))
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in every])]).astype(np.int64)
    return points, starts, np.concatenate([[0], np.cumsum([len(own) for own in rings])]).astype(np.int64)


def segments(regions: Sequence[shapely.Geometry]) -> tuple[Floats, Index]:
    """Sides of all regions, material on their left, and where those of each region begin."""
    own = [
        np.concatenate(
            [np.empty((0, 4)), *(np.hstack([r, np.roll(r, -1, axis=0)]) for r in rings_of(region))]
        )
        for region in regions
    ]
    starts = np.concatenate([[0], np.cumsum([len(part) for part in own])]).astype(np.int64)
    return np.ascontiguousarray(np.concatenate(own)), starts


def lines(regions: Sequence[shapely.Geometry], gap: float) -> tuple[float, float, int]:
    """Scan lines over all of them: lowest, distance, number."""
    points = np.concatenate([shapely.get_coordinates(region) for region in regions])
    across = ASKEW_COS * points[:, 1] - ASKEW_SIN * points[:, 0]
    low = float(across.min()) + 0.38 * gap
    return low, gap, int((float(across.max()) - low) / gap) + 2
