"""Sides of the outlines of walked layers."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.estimate.beads import LayerBeads

Column = NDArray[np.float64]
Index = NDArray[np.int64]


def sides(beads: LayerBeads) -> Column:
    """Step from each ring point to the next one of its closed ring, (m, 2) mm."""
    points, starts = beads.points, beads.ring_starts
    if len(points) == 0:
        return np.zeros((0, 2))
    following: Index = np.arange(1, len(points) + 1, dtype=np.int64)
    filled = np.diff(starts) > 0
    following[starts[1:][filled] - 1] = starts[:-1][filled]
    steps: Column = points[following] - points
    return steps


def walked_of_side(beads: LayerBeads) -> Index:
    """Position in ``walked`` of the layer to which each side belongs, (m,)."""
    counts = np.diff(beads.ring_starts[beads.walked_starts])
    return np.repeat(np.arange(len(beads.walked), dtype=np.int64), counts)


def diagonal_share(beads: LayerBeads) -> Column:
    """Mean chord along the two diagonals over that of all directions, (k,) for walked layers.

    Lines of an area lie at plus and minus 45 degrees. They cross a side as often as it is wide
    across them, so the share is 2/pi over the mean of |sin| between sides and lines
    (Source: geometry, Cauchy's formula; a square has 2 sqrt(2) / pi = 0.9003, a circle 1).
    Assumes: the sides of the area run as those of the outline do.
    """
    steps = sides(beads)
    across = (np.abs(steps[:, 0] - steps[:, 1]) + np.abs(steps[:, 0] + steps[:, 1])) / np.sqrt(8.0)
    walked, layers = walked_of_side(beads), len(beads.walked)
    wide = np.bincount(walked, weights=across, minlength=layers)
    length = np.bincount(walked, weights=np.hypot(steps[:, 0], steps[:, 1]), minlength=layers)
    share: Column = np.where(wide > 0.0, 2.0 / np.pi * length / np.where(wide > 0.0, wide, 1.0), 1.0)
    return share


def mean_diameter(beads: LayerBeads) -> Column:
    """Mean over the rings of each walked layer of perimeter / pi, (k,) mm."""
    steps = sides(beads)
    length = np.bincount(
        walked_of_side(beads), weights=np.hypot(steps[:, 0], steps[:, 1]), minlength=len(beads.walked)
    )
    mean: Column = length / (np.pi * np.maximum(np.diff(beads.walked_starts), 1))
    return mean
