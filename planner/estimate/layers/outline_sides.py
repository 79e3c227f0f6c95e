"""What the sides of the outlines of walked layers come to."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]
Index = NDArray[np.int64]


@dataclass(frozen=True, eq=False, slots=True)
class OutlineSums:
    """Of each walked layer, (k,): length of its rings, mean perimeter / pi of them, share of the chords.

    ``diagonal_share`` is the mean chord along the two diagonals over that of all directions. Lines
    of an area lie at plus and minus 45 degrees. They cross a side as often as it is wide across
    them, so the share is 2/pi over the mean of |sin| between sides and lines
    (Source: geometry, Cauchy's formula; a square has 2 sqrt(2) / pi = 0.9003, a circle 1).
    ``edge_cosine`` is the mean cosine between the sides and the lines that end on them, each side
    counted as often as lines meet it (a square has 1 / sqrt(2), a circle 1 / 2).
    Assumes: the sides of the area run as those of the outline do.
    """

    length_mm: Column
    mean_diameter_mm: Column
    diagonal_share: Column
    edge_cosine: Column


def outline_sums(points: Column, ring_starts: Index, walked_starts: Index) -> OutlineSums:
    """Sums along the rings of every walked layer; rings as in `planner.estimate.time.beads.LayerBeads`."""
    from planner.estimate.layers.outline_kernel import side_sums

    table = side_sums(np.ascontiguousarray(points), ring_starts, walked_starts)
    length, wide = table[:, 0].copy(), table[:, 1]
    rings = np.maximum(np.diff(walked_starts), 1)
    share = np.where(wide > 0.0, 2.0 / np.pi * length / np.where(wide > 0.0, wide, 1.0), 1.0)
    cosine = np.where(wide > 0.0, table[:, 2] / np.where(wide > 0.0, wide, 1.0), 0.0)
    return OutlineSums(length, length / (np.pi * rings), share, cosine)
