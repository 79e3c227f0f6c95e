"""Layers made by hand, so that the minutes can be tested without the layer engine."""

import dataclasses

import numpy as np

from planner.estimate.layers.outline_sides import outline_sums
from planner.estimate.time.beads import LayerBeads
from planner.model.filament import Filament
from planner.model.printer import Motion

PLAIN_PLASTIC = Filament("PLA", "polylactic acid", 1.24, 1.24, flow_limit_mm3_s=1000.0)
MOTION = Motion(
    wall_speed=45.0,
    fill_speed=60.0,
    first_layer_speed=20.0,
    travel_speed=150.0,
    acceleration=1000.0,
    travel_acceleration=1000.0,
    corner_deviation=0.05,
    retract_s=0.5,
    layer_change_s=0.8,
)
HEIGHT, WIDTH = 0.2, 0.45
SPACING = WIDTH - HEIGHT * (1.0 - np.pi / 4.0)


def rectangle(x, y, low=0.0):
    """A counter-clockwise rectangle from (low, low) to (x, y)."""
    return np.array([[low, low], [x, low], [x, y], [low, y]])


def circle(radius, n=360):
    """A counter-clockwise circle of chords."""
    turn = np.linspace(0.0, 2.0 * np.pi, n, endpoint=False)
    return radius * np.column_stack([np.cos(turn), np.sin(turn)])


def area_of(ring):
    """Shoelace formula."""
    x, y = ring[:, 0], ring[:, 1]
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def length_of(ring):
    """Perimeter of a closed ring."""
    return float(np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1).sum())


def alike_layers(count, rings, wall_path, **columns):
    """``count`` layers with the same outlines; further columns as one value for all layers."""
    base = {
        "solid_mm2": 0.0,
        "sparse_mm2": 0.0,
        "support_mm2": 0.0,
        "support_solid_mm2": 0.0,
        "support_wall_mm2": 0.0,
        "support_line_mm": 0.0,
        "support_islands": 0.0,
        "chord_mm": 1.0,
        "top_mm2": 0.0,
        "top_chord_mm": 1.0,
        "bridge_mm2": 0.0,
        "bridge_chord_mm": 1.0,
        "rest_chord_mm": 1.0,
    }
    given = {k: np.full(count, float(columns.pop(k, v))) for k, v in base.items()}
    given.setdefault("sparse_chord_mm", np.broadcast_to(columns.get("chord_mm", given["chord_mm"]), count))
    given.setdefault("sparse_path_mm", np.zeros(count))
    points = np.concatenate(rings) if rings else np.zeros((0, 2))
    starts = np.concatenate([[0], np.cumsum([len(r) for r in rings])]).astype(np.int64)
    walked = np.array([0, len(rings)], dtype=np.int64)
    whole = LayerBeads(
        height_mm=np.full(count, HEIGHT),
        wall_path_mm=np.full(count, wall_path),
        wall_mm3=np.full(count, wall_path * SPACING * HEIGHT),
        brim_path_mm=np.zeros(count),
        islands=np.full(count, int(columns.pop("islands", 1))),
        points=points,
        ring_starts=starts,
        sums=outline_sums(points, starts, walked),
        walked=np.array([0], dtype=np.int64),
        walked_starts=walked,
        nearest=np.zeros(count, dtype=np.int64),
        hops=np.array([float(columns.pop("hops", 0.0))]),
        hop_mm=np.array([float(columns.pop("hop_mm", 0.0))]),
        reach_mm=np.array([float(columns.pop("reach_mm", 0.0))]),
        spiral=np.full(count, bool(columns.pop("spiral", False))),
        solid_spacing_mm=SPACING,
        sparse_spacing_mm=float(columns.pop("sparse_spacing_mm", np.inf)),
        support_spacing_mm=float(columns.pop("support_spacing_mm", np.inf)),
        **given,
    )
    return dataclasses.replace(whole, **columns)
