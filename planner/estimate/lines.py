"""Seconds of areas that are covered by parallel lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.estimate.motion import corner_speed
from planner.model.printer import Motion

Column = NDArray[np.float64]

_HALF_TURN_DEG = 90.0  # a line turns into the next by two corners of 90 degrees


def line_seconds(
    area_mm2: Column,
    chord_mm: Column,
    spacing_mm: float,
    bead_mm: float,
    speed: Column,
    motion: Motion,
    step_mm: Column | None = None,
) -> Column:
    """Seconds to cover areas with parallel lines to and fro.

    area / spacing is the length of line, and that over the mean chord the number of lines. A line
    runs from corner to corner and then steps over to the next. Where lines touch (spacing = bead)
    the steps are beads too and are part of that length; wider apart they come on top and follow
    the edge: all of them together are half of its length, so ``step_mm`` is pi/2 times the spacing
    for a round area, sqrt(2) times for lines at 45 degrees in a square (Source: Cauchy's formula).

    Source: geometry; ramps and corners as for `path_seconds`.
    """
    from planner.estimate import motion_kernel

    if not np.isfinite(spacing_mm):
        return np.zeros(len(area_mm2))
    touching = spacing_mm <= 1.001 * bead_mm
    wide = np.full(len(area_mm2), spacing_mm) if touching or step_mm is None else step_mm
    corner = float(corner_speed(_HALF_TURN_DEG, motion.acceleration, motion.corner_deviation))
    seconds: Column = motion_kernel.line_seconds(
        area_mm2, chord_mm, speed, wide, spacing_mm, touching, motion.acceleration, corner
    )
    return seconds
