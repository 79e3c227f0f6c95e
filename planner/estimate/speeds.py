"""The speed of each kind of bead on each layer, after every limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.beads import LayerBeads
from planner.model.filament import Filament
from planner.model.printer import Motion
from planner.model.recipe import Recipe

Column = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Speeds:
    """Speeds in mm/s, (n,) one for each layer; ``fill`` holds for areas, support and their lines."""

    wall: Column
    fill: Column


def speeds(beads: LayerBeads, recipe: Recipe, filament: Filament, motion: Motion) -> Speeds:
    """What recipe, printer, filament, hot end and first layer allow: the slowest holds, line by line.

    The hot end melts ``flow_limit_mm3_s`` of solid filament, so a bead of area A that foams to
    fill its room may run at flow limit / (A x flow fraction x flow trim) (Source: volume balance).
    """
    bead_mm2 = beads.height_mm * beads.solid_spacing_mm
    long = beads.wall_path_mm > 0.0
    wall_mm2 = np.where(long, beads.wall_mm3 / np.where(long, beads.wall_path_mm, 1.0), bead_mm2)
    wall = _slower(recipe.wall_speed_mm_s, motion.wall_speed)
    fill = _slower(recipe.fill_speed_mm_s, motion.fill_speed)
    first = _slower(recipe.first_layer_speed_mm_s, motion.first_layer_speed)
    return Speeds(
        _limited(wall, first, wall_mm2, recipe, filament), _limited(fill, first, bead_mm2, recipe, filament)
    )


def _slower(asked: float | None, machine: float) -> float:
    """A recipe asks for a speed; no recipe makes a machine quicker than it is."""
    return machine if asked is None else min(asked, machine)


def _limited(wanted: float, first: float, bead_mm2: Column, recipe: Recipe, filament: Filament) -> Column:
    speed = np.full(len(bead_mm2), wanted)
    if len(speed):
        speed[0] = min(wanted, first)
    if filament.speed_limit_mm_s is not None:
        speed = np.minimum(speed, filament.speed_limit_mm_s)
    melted_mm2 = np.maximum(bead_mm2 * filament.flow_fraction * recipe.flow_trim, 1e-9)
    limited: Column = np.minimum(speed, filament.flow_limit_mm3_s / melted_mm2)
    return limited
