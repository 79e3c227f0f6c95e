"""How much of a core's edge lies beyond the outermost lines of sparse infill."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]
Index = NDArray[np.int64]

MOST_LAYERS = 24  # that are looked at; the others are as the nearest of them
JUMP = 0.1  # share of their area by which cores differ that are not alike


def core_caps(
    points: Column, starts: Index, plane: Index, area: Column, depth_mm: Column, spacing_mm: float
) -> NDArray[np.float64]:
    """Of every walked section, (k,) mm: the edge of its core beyond the first and the last line.

    Thin tails and tips of an outline hold no lines: the core ends where they begin, often bluntly, so that
    its caps are other ones than those of the outline (twice as long on an aerofoil).

    Parameters
    ----------
    points, starts, plane : rings of the walked sections
    area : (k,) of the cores: where that jumps, the caps are other ones
    depth_mm : (k,) how deep inside the outline the core begins
    spacing_mm : distance of the lines; without any, where it is not finite, there are no caps
    """
    from planner.geometry.planar.regions import caps_within

    count = len(plane) - 1
    if count == 0 or not np.isfinite(spacing_mm):
        return np.zeros(max(0, count))
    chosen, like = _chosen(area)
    found = np.zeros(len(chosen))
    for n, q in enumerate(chosen.tolist()):
        rings = [points[starts[r] : starts[r + 1]] for r in range(plane[q], plane[q + 1])]
        found[n] = caps_within(rings, float(depth_mm[q]), spacing_mm)
    return found[like]


def _chosen(area: Column) -> tuple[Index, Index]:
    """Sections to look at, and for every section the nearest on its own side of a jump."""
    count = len(area)
    step = np.abs(np.diff(area)) / np.maximum(np.maximum(area[1:], area[:-1]), 1e-9)
    most = np.argsort(-step, kind="stable")[: MOST_LAYERS // 3]
    jump = np.sort(most[step[most] > JUMP])
    left = MOST_LAYERS - 2 * len(jump)
    evenly = np.linspace(0, count - 1, min(count, left)).round().astype(np.int64)
    chosen = np.unique(np.concatenate([evenly, jump, jump + 1])).astype(np.int64)
    stretch = np.searchsorted(jump, np.arange(count), side="left")
    far = np.abs(np.arange(count)[:, None] - chosen[None, :]) + count * (
        stretch[:, None] != stretch[chosen][None, :]
    )
    return chosen, far.argmin(axis=1)
