"""Seconds of the support of every layer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.estimate.time.accelerations import pulls
from planner.estimate.time.beads import LayerBeads
from planner.estimate.time.lines import line_seconds
from planner.estimate.time.motion import move_seconds
from planner.estimate.time.speeds import Speeds
from planner.model.filament import Filament
from planner.model.printer import Motion

Column = NDArray[np.float64]

_SQUARE_COSINE = 0.5**0.5  # lines at 45 degrees to the sides
_SQUARE_CHORD = np.pi / 4.0  # mean chord of a unit square over all directions (Cauchy: pi A / P)


def support_seconds(beads: LayerBeads, pace: Speeds, filament: Filament, motion: Motion) -> Column:
    """Seconds of each layer, (n,), that go into columns of support and into the way to them.

    Assumes: columns are square, all alike on one layer; each is reached by one travel as long as it is
    wide, with a retraction unless the filament foams.
    """
    some = np.maximum(beads.support_islands, 1.0)
    inside = beads.support_mm2 + beads.support_solid_mm2
    wide = np.sqrt((inside + beads.support_wall_mm2) / some)
    sparse, solid = beads.support_spacing_mm, beads.solid_spacing_mm
    chord = _SQUARE_CHORD * np.sqrt(inside / some)
    run = np.where(np.isfinite(sparse), beads.support_mm2 / sparse, 0.0)
    steps = np.maximum(beads.support_line_mm - run, 0.0)
    pull = pulls(len(beads), motion, motion.support_acceleration, motion.fill_acceleration)
    like = pace.support, pull, motion.corner_deviation
    seconds: Column = (
        line_seconds(beads.support_mm2, chord, sparse, solid, *like, steps, some, _SQUARE_COSINE)
        + line_seconds(beads.support_solid_mm2, chord, solid, solid, *like, 0.0, some, _SQUARE_COSINE)
        + line_seconds(beads.support_wall_mm2, wide, solid, solid, *like)
    )
    retract_s = 0.0 if filament.foaming else motion.retract_s
    there = move_seconds(wide, motion.travel_speed, motion.travel_acceleration) + retract_s
    total: Column = seconds + np.where(inside + beads.support_wall_mm2 > 0.0, some * there, 0.0)
    return total
