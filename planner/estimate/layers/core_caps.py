"""How much of a core's edge the steps between lines of sparse infill leave out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]
Index = NDArray[np.int64]

# Layers that are looked at; the others are as the nearest of them (of 24 the mean is up to 0.5 % off).
MOST_LAYERS = 40
JUMP = 0.1  # share of their area by which cores differ that are not alike


def core_caps(
    points: Column,
    starts: Index,
    plane: Index,
    like: Index,
    area: Column,
    depth_mm: Column,
    lost_mm: Column,
    spacing_mm: float,
) -> NDArray[np.float64]:
    """Of every walked section, (k,) mm: what of its core's edge steps leave out beside every other stretch.

    Thin tails and tips of an outline hold no lines: the core ends where they begin, often bluntly, so that
    its caps are other ones than those of the outline (twice as long on an aerofoil).

    Parameters
    ----------
    points, starts, plane : rings of the walked sections
    like : (k,) the same number for sections that are the same
    area : (k,) of the cores: where that jumps, the caps are other ones
    depth_mm : (k,) how deep inside the outline the core begins
    lost_mm : (k,) outline that narrow places took from the core: none where its rings do not meet
    spacing_mm : distance of the lines; without any, where it is not finite, there are no caps
    """
    from planner.geometry.planar.ragged import picked
    from planner.geometry.planar.regions import caps_within

    count = len(plane) - 1
    if count == 0 or not np.isfinite(spacing_mm):
        return np.zeros(max(0, count))
    chosen, nearest = _chosen(area)
    once, same = np.unique(
        np.column_stack([like[chosen], depth_mm[chosen]]), axis=0, return_index=True, return_inverse=True
    )[1:]
    chosen = chosen[once]
    found = caps_within(
        *picked(points, starts, plane, chosen), depth_mm[chosen], spacing_mm, lost_mm[chosen] > 0.0
    )
    return found[same.ravel()][nearest]


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
