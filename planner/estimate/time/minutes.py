"""Seconds of every layer of one piece on one printer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.outline_sides import OutlineSums
from planner.estimate.time.accelerations import asked, own_acceleration, pulls
from planner.estimate.time.beads import LayerBeads
from planner.estimate.time.lines import line_seconds, solid_seconds
from planner.estimate.time.motion import move_seconds, path_seconds
from planner.estimate.time.speeds import Speeds, speeds
from planner.estimate.time.support_minutes import support_seconds
from planner.model.filament import Filament
from planner.model.printer import Motion
from planner.model.recipe import Recipe

Column = NDArray[np.float64]


def layer_seconds(beads: LayerBeads, recipe: Recipe, filament: Filament, motion: Motion) -> Column:
    """Seconds of each layer when the piece is printed, without the least layer time.

    Walls run along the real rings; areas are lines that pay their ramps and turns; travel,
    retraction and the layer change are in. The least layer time belongs to the bed.

    Returns
    -------
    (n,) float64 s

    Assumes: the bead of a wall takes the corners of the outline beside it; lines of an area have
    their mean length; a layer begins where the last one ended.
    """
    if len(beads) == 0:
        return np.zeros(0)
    motion = asked(recipe, motion)
    pace = speeds(beads, recipe, filament, motion)
    sums = beads.sums
    seconds = _walls(beads, sums, pace, motion) + _areas(beads, sums, pace, motion)
    seconds += _travel(beads, sums, pace, recipe, filament, motion)
    seconds += support_seconds(beads, pace, filament, motion)
    # a spiral climbs while it prints: only the step onto it is a layer change
    climbing = beads.spiral & np.concatenate([[False], beads.spiral[:-1]])
    total: Column = seconds + np.where(climbing, 0.0, motion.layer_change_s)
    return total


def _walls(beads: LayerBeads, sums: OutlineSums, pace: Speeds, motion: Motion) -> Column:
    """Walls and brim: seconds per millimetre along the nearest walked rings, times the length.

    The outermost bead is as long as the outline beside it, the others are the rest.
    """
    pull = own_acceleration(motion, motion.outer_wall_acceleration)
    inner = _paces(beads, sums, pace.wall, motion, motion.acceleration)
    if pull == motion.acceleration and np.array_equal(pace.outer, pace.wall):
        seconds: Column = inner * (beads.wall_path_mm + beads.brim_path_mm)
        return seconds
    outer_mm = np.minimum(sums.length_mm[beads.nearest], beads.wall_path_mm)
    outer = _paces(beads, sums, pace.outer, motion, pull)
    seconds = outer * outer_mm + inner * (beads.wall_path_mm - outer_mm + beads.brim_path_mm)
    return seconds


def _paces(
    beads: LayerBeads, sums: OutlineSums, speeds: Column, motion: Motion, acceleration: float
) -> Column:
    """Seconds per millimetre of wall on every layer."""
    first_speed = np.full(len(beads.walked), speeds[0])
    # the first layer is slow; a walked layer stands for the others that are like it
    alike = np.bincount(beads.nearest[1:], minlength=len(beads.walked))
    total = np.bincount(beads.nearest[1:], weights=speeds[1:], minlength=len(beads.walked))
    speed = np.where(alike > 0, total / np.maximum(alike, 1), first_speed)
    per_mm = _seconds_per_mm(beads, sums, 0, len(beads.walked), speed, motion, acceleration)[beads.nearest]
    first = int(beads.nearest[0])
    pull = min(acceleration, motion.first_layer_acceleration or acceleration)
    per_mm[0] = _seconds_per_mm(beads, sums, first, first + 1, first_speed, motion, pull)[0]
    return per_mm


def _seconds_per_mm(
    beads: LayerBeads,
    sums: OutlineSums,
    a: int,
    b: int,
    walked_speed: Column,
    motion: Motion,
    acceleration: float,
) -> Column:
    """Mean pace along the rings of walked layers ``a`` up to ``b``; cruise where a layer has no ring."""
    rings = np.diff(beads.walked_starts[a : b + 1])
    layer_of_ring = np.repeat(np.arange(a, b), rings)
    seconds = path_seconds(
        beads.points,
        beads.ring_starts[beads.walked_starts[a] : beads.walked_starts[b] + 1],
        np.ones(len(layer_of_ring), dtype=bool),
        _of_rings(beads, a, b, walked_speed[layer_of_ring], motion),
        acceleration,
        motion.corner_deviation,
        rolling=beads.spiral[beads.walked][layer_of_ring],
    )
    total = np.bincount(layer_of_ring - a, weights=seconds, minlength=len(rings))
    length = sums.length_mm[a:b]
    long = length > 0.0
    pace: Column = np.where(long, total / np.where(long, length, 1.0), 1.0 / walked_speed[a:b])
    return pace


def _of_rings(beads: LayerBeads, a: int, b: int, speed: Column, motion: Motion) -> Column:
    """Speed of every ring of some walked layers: small loops have one of their own."""
    if motion.small_loop_speed is None or len(speed) == 0:
        return speed
    starts = beads.ring_starts[beads.walked_starts[a] : beads.walked_starts[b] + 1]
    points = beads.points[starts[0] : starts[-1]]
    after = np.arange(1, len(points) + 1)
    after[starts[1:] - starts[0] - 1] = starts[:-1] - starts[0]
    around = np.add.reduceat(np.hypot(*(points[after] - points).T), starts[:-1] - starts[0])
    return np.where(around < motion.small_loop_mm, np.minimum(speed, motion.small_loop_speed), speed)


def _areas(beads: LayerBeads, sums: OutlineSums, pace: Speeds, motion: Motion) -> Column:
    """Solid and sparse areas, as lines to and fro."""
    bead, apart = beads.solid_spacing_mm, beads.sparse_spacing_mm
    n, rounding = len(beads), motion.corner_deviation
    sparse_pull = pulls(n, motion, motion.fill_acceleration)
    strokes = np.maximum(np.diff(beads.walked_starts), 1).astype(np.float64)[beads.nearest]
    cosine = sums.edge_cosine[beads.nearest]
    seconds = _solid(beads, pace, motion, strokes, cosine, sums.diagonal_share[beads.nearest])
    steps = np.maximum(beads.sparse_path_mm - beads.sparse_mm2 / apart, 0.0)
    seconds += line_seconds(
        beads.sparse_mm2,
        beads.sparse_chord_mm,
        apart,
        bead,
        pace.fill,
        sparse_pull,
        rounding,
        steps,
        strokes,
        cosine,
    )
    return seconds


def _solid(
    beads: LayerBeads, pace: Speeds, motion: Motion, strokes: Column, cosine: Column, share: Column
) -> Column:
    """Solid areas, as lines to and fro; top layers and bridges apart, where they run otherwise."""
    pull = pulls(len(beads), motion, motion.solid_acceleration, motion.fill_acceleration)
    areas = [(beads.solid_mm2, beads.chord_mm, pace.solid)]
    if _own_faces(beads, pace):
        rest = beads.solid_mm2 - beads.top_mm2 - beads.bridge_mm2
        areas = [
            (rest, beads.rest_chord_mm, pace.solid),
            (beads.top_mm2, beads.top_chord_mm, pace.top),
            (beads.bridge_mm2, beads.bridge_chord_mm, pace.bridge),
        ]
    seconds = np.zeros(len(beads))
    for area, chord, speed in areas:
        seconds += solid_seconds(
            area, chord, beads.solid_spacing_mm, speed, pull, motion.corner_deviation, strokes, cosine, share,
            whole=len(areas) > 1,
        )  # fmt: skip
    return seconds


def _own_faces(beads: LayerBeads, pace: Speeds) -> bool:
    """Whether some top layers or bridges do not run as other solid layers."""
    like = np.array_equal(pace.top, pace.solid) and np.array_equal(pace.bridge, pace.solid)
    return not like and bool(beads.top_mm2.any() or beads.bridge_mm2.any())


def _travel(
    beads: LayerBeads, sums: OutlineSums, pace: Speeds, recipe: Recipe, filament: Filament, motion: Motion
) -> Column:
    """From wall to wall, from ring to ring, to single beads, from walls to areas, and the retractions of it.

    Only a hop to another island retracts; foaming filament is not retracted (common practice,
    no source).
    """
    from planner.estimate.time import travel_kernel

    speed, acceleration = motion.travel_speed, motion.travel_acceleration
    tours = travel_kernel.tours(
        np.ascontiguousarray(beads.points), beads.ring_starts, beads.walked_starts, speed, acceleration
    )
    rings = np.diff(beads.walked_starts)[beads.nearest]
    inner_walls = np.where(beads.spiral, 0, max(recipe.walls - 1, 0)) * rings
    hops = beads.hops * move_seconds(beads.hop_mm / np.maximum(beads.hops, 1.0), speed, acceleration)
    seconds = (tours + hops)[beads.nearest]
    seconds += inner_walls * move_seconds(beads.solid_spacing_mm, speed, acceleration)
    across = sums.mean_diameter_mm[beads.nearest]
    fills = (beads.solid_mm2 > 0.0).astype(np.int64) + (beads.sparse_mm2 > 0.0)
    if _own_faces(beads, pace):  # what is laid apart is gone to apart
        rest = beads.solid_mm2 - beads.top_mm2 - beads.bridge_mm2
        apart = sum((area > 1e-9).astype(np.int64) for area in (rest, beads.top_mm2, beads.bridge_mm2))
        fills += np.maximum(apart - 1, 0)
    seconds += fills * np.maximum(beads.islands, 1) * move_seconds(across / 2.0, speed, acceleration)
    # lines end far from where they begin, and single beads may be there
    seconds += (fills > 0) * move_seconds(beads.reach_mm, speed, acceleration)[beads.nearest]
    # every opening parts the lines of an area once more
    openings = np.maximum(rings - beads.islands, 0)
    seconds += fills * openings * move_seconds(across, speed, acceleration)
    retract_s = 0.0 if filament.foaming else motion.retract_s
    away: Column = seconds + np.maximum(beads.islands - 1, 0) * retract_s
    return away
