"""The speed of each kind of bead on each layer, after every limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.time.beads import LayerBeads
from planner.model.filament import Filament
from planner.model.printer import Motion
from planner.model.recipe import Recipe

Column = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class Speeds:
    """Speeds in mm/s by kind of bead, (n,) one for each layer; ``fill`` is that of sparse lines."""

    outer: Column
    wall: Column
    fill: Column
    solid: Column
    top: Column
    bridge: Column
    support: Column


def speeds(beads: LayerBeads, recipe: Recipe, filament: Filament, motion: Motion) -> Speeds:
    """What recipe, printer, filament, hot end and first layer allow: the slowest holds, line by line.

    A kind without a speed of its own has that of all walls, or of all fills; top layers and bridges that
    of solid layers. The hot end melts
    ``flow_limit_mm3_s`` of solid filament, so a bead of area A that foams to fill its room may run at
    flow limit / (A x flow fraction x flow trim) (Source: volume balance).
    """
    bead_mm2 = beads.height_mm * beads.solid_spacing_mm
    long = beads.wall_path_mm > 0.0
    wall_mm2 = np.where(long, beads.wall_mm3 / np.where(long, beads.wall_path_mm, 1.0), bead_mm2)
    first = _slower(recipe.first_layer_speed_mm_s, motion.first_layer_speed)

    def kind(own: float | None, of_all: float | None, machine: float, mm2: Column) -> Column:
        return _limited(_slower(of_all if own is None else own, machine), first, mm2, recipe, filament)

    walls, fills = recipe.wall_speed_mm_s, recipe.fill_speed_mm_s
    solids = fills if recipe.solid_speed_mm_s is None else recipe.solid_speed_mm_s
    outer_most = motion.outer_wall_speed or motion.wall_speed
    solid_most, support_most = (
        motion.solid_speed or motion.fill_speed,
        motion.support_speed or motion.fill_speed,
    )
    return Speeds(
        kind(recipe.outer_wall_speed_mm_s, walls, outer_most, wall_mm2),
        kind(None, walls, motion.wall_speed, wall_mm2),
        kind(None, fills, motion.fill_speed, bead_mm2),
        kind(None, solids, solid_most, bead_mm2),
        kind(recipe.top_speed_mm_s, solids, motion.top_speed or solid_most, bead_mm2),
        kind(recipe.bridge_speed_mm_s, solids, motion.bridge_speed or solid_most, bead_mm2),
        kind(recipe.support_speed_mm_s, fills, support_most, bead_mm2),
    )


def tells_faces(recipe: Recipe, motion: Motion) -> bool:
    """Whether top layers or bridges are asked to run at a speed of their own."""
    own = recipe.top_speed_mm_s, recipe.bridge_speed_mm_s, motion.top_speed, motion.bridge_speed
    return any(speed is not None for speed in own)


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
