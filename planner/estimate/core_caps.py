"""How much of a core's edge lies beyond the outermost lines of sparse infill."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]
Index = NDArray[np.int64]

MOST_LAYERS = 24  # that are looked at; the others are as the nearest of them


def core_caps(
    points: Column, starts: Index, plane: Index, depth_mm: Column, spacing_mm: float
) -> NDArray[np.float64]:
    """Of every walked section, (k,) mm: the edge of its core beyond the first and the last line.

    Thin tails and tips of an outline hold no lines: the core ends where they begin, often bluntly, so that
    its caps are other ones than those of the outline (twice as long on an aerofoil).

    Parameters
    ----------
    points, starts, plane : rings of the walked sections
    depth_mm : (k,) how deep inside the outline the core begins
    spacing_mm : distance of the lines; without any, where it is not finite, there are no caps
    """
    from planner.geometry.regions import caps_within

    count = len(plane) - 1
    if count == 0 or not np.isfinite(spacing_mm):
        return np.zeros(max(0, count))
    chosen = np.unique(np.linspace(0, count - 1, min(count, MOST_LAYERS)).round().astype(np.int64))
    found = np.zeros(len(chosen))
    for n, q in enumerate(chosen.tolist()):
        rings = [points[starts[r] : starts[r + 1]] for r in range(plane[q], plane[q + 1])]
        found[n] = caps_within(rings, float(depth_mm[q]), spacing_mm)
    between = 0.5 * (chosen[1:] + chosen[:-1])
    return found[np.searchsorted(between, np.arange(count), side="left")]
