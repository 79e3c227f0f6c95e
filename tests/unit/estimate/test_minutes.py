"""Seconds of layers against closed forms and against paths that are written out in full."""

import dataclasses

import numpy as np
import pytest

from planner.estimate.layers.outline_sides import outline_sums
from planner.estimate.time.lines import line_seconds
from planner.estimate.time.minutes import layer_seconds
from planner.model.filament import Filament
from planner.model.recipe import Recipe
from tests.unit.estimate.bead_samples import (
    HEIGHT,
    MOTION,
    PLAIN_PLASTIC,
    SPACING,
    WIDTH,
    alike_layers,
    area_of,
    circle,
    length_of,
    rectangle,
)
from tests.unit.estimate.explicit_path import area_strokes, hop_seconds, stroke_seconds

ONE_PERCENT = 0.01
THREE_PERCENT = 0.03
ONE_WALL = Recipe("one wall", walls=1, top_layers=0, bottom_layers=0, infill=0.0)
TWO_WALLS = Recipe("two walls", walls=2)


def test_square_spiral():
    """A square spiral of 40 mm laps at corner speed to corner speed without a pause (mechanics)."""
    recipe = Recipe("spiral", walls=1, top_layers=0, bottom_layers=0, infill=0.0, spiral=True)
    beads = alike_layers(5, [rectangle(40.0, 40.0)], 160.0, spiral=True)
    corner, v, a = 10.986841, MOTION.wall_speed, MOTION.acceleration
    side = 2.0 * (v - corner) / a + (40.0 - (v**2 - corner**2) / a) / v
    seconds = layer_seconds(beads, recipe, PLAIN_PLASTIC, MOTION)
    assert seconds[1:] == pytest.approx(4.0 * side, rel=1e-6)
    at_20 = 2.0 * (20.0 - corner) / a + (40.0 - (400.0 - corner**2) / a) / 20.0
    assert seconds[0] == pytest.approx(4.0 * at_20 + MOTION.layer_change_s, rel=1e-6)


@pytest.mark.parametrize("walls", [1, 2])
def test_circle_walls(walls):
    """Round walls take circumference / v and one ramp time v / a each, and the hop between them."""
    radii = [25.0 - WIDTH / 2.0 - k * SPACING for k in range(walls)]
    path = sum(2.0 * np.pi * r for r in radii)
    beads = alike_layers(3, [circle(25.0)], path)
    recipe = dataclasses.replace(ONE_WALL, walls=walls)
    seconds = layer_seconds(beads, recipe, PLAIN_PLASTIC, MOTION)[1]
    by_hand = path / 45.0 + walls * 45.0 / 1000.0 + MOTION.layer_change_s
    by_hand += (walls - 1) * 2.0 * np.sqrt(SPACING / 1000.0)
    assert seconds == pytest.approx(by_hand, rel=ONE_PERCENT)


def test_raster_block():
    """A block of 100 lines of 50 mm: runs and steps from corner speed to corner speed (mechanics).

    The lines lie along the block, so the chord is 50 mm; they end half a bead short of its edge and
    the steps make up for it.
    """
    lines, chord, v, a, corner = 100, 50.0, 60.0, 1000.0, 10.986841
    run, step = chord - SPACING, SPACING
    one = 2.0 * (v - corner) / a + (run - (v**2 - corner**2) / a) / v
    peak = np.sqrt(a * step + corner**2)
    by_hand = lines * one + (lines - 1) * 2.0 * (peak - corner) / a
    area = np.array([lines * SPACING * chord])
    seconds = line_seconds(
        area, np.array([chord]), SPACING, SPACING, np.array([v]), a, MOTION.corner_deviation
    )
    assert seconds[0] == pytest.approx(by_hand, rel=ONE_PERCENT)


def walls_and_area(outline, walls, spacing, angle):
    """Explicit seconds of walls on offset outlines and lines over what they leave, without layer change.

    ``outline`` maps an inset to rings.
    """
    a, d = MOTION.acceleration, MOTION.corner_deviation
    total, at = 0.0, None
    for k in range(walls):
        for ring in outline(WIDTH / 2.0 + k * SPACING):
            if at is not None:
                total += hop_seconds(at, ring[0], MOTION.travel_speed, MOTION.travel_acceleration)
            total += stroke_seconds([*ring, ring[0]], MOTION.wall_speed, a, d)
            at = ring[0]
    inner = outline(WIDTH / 2.0 + walls * SPACING - SPACING / 2.0)
    inset = SPACING / 2.0 if spacing < WIDTH else 0.0
    for stroke in area_strokes(inner, spacing, angle, inset):
        total += hop_seconds(at, stroke[0], MOTION.travel_speed, MOTION.travel_acceleration)
        total += stroke_seconds(stroke, MOTION.fill_speed, a, d)
        at = stroke[-1]
    return total, inner


def _plate(inset):
    return [rectangle(60.0 - inset, 25.0 - inset, inset)]


def _disc(inset):
    return [circle(18.0 - inset)]


def _ring(inset):
    return [circle(22.0 - inset), circle(9.0 + inset)[::-1]]


def _beads_like(outline, walls, spacing):
    rings = outline(0.0)
    path = sum(length_of(r) for k in range(walls) for r in outline(WIDTH / 2.0 + k * SPACING))
    inner = outline(WIDTH / 2.0 + walls * SPACING - SPACING / 2.0)
    area = sum(area_of(r) for r in inner)
    chord = np.pi * area / sum(length_of(r) for r in inner)
    dense = spacing < WIDTH
    laid = [np.hypot(*np.diff(stroke, axis=0).T).sum() for stroke in area_strokes(inner, spacing, 45.0, 0.0)]
    return alike_layers(
        2,
        rings,
        path,
        chord_mm=chord,
        solid_mm2=area if dense else 0.0,
        sparse_mm2=0.0 if dense else area,
        sparse_spacing_mm=np.inf if dense else spacing,
        sparse_path_mm=np.full(2, 0.0 if dense else sum(laid)),
    )


@pytest.mark.parametrize("spacing", [SPACING, SPACING / 0.25, SPACING / 0.10], ids=["solid", "25%", "10%"])
@pytest.mark.parametrize("outline", [_plate, _disc, _ring], ids=["plate", "disc", "ring"])
def test_explicit_path(outline, spacing):
    """A layer with two walls and lines at 45 degrees is within 3 % of its whole path integrated."""
    explicit, _ = walls_and_area(outline, 2, spacing, 45.0)
    beads = _beads_like(outline, 2, spacing)
    seconds = layer_seconds(beads, TWO_WALLS, PLAIN_PLASTIC, MOTION)[1] - MOTION.layer_change_s
    assert seconds == pytest.approx(explicit, rel=THREE_PERCENT)


def test_flow_limit_of_the_hot_end():
    """A bead of 0.0814 mm2 at 2 mm3/s runs at 24.57 mm/s; foamed to half the density, twice as fast."""
    beads = alike_layers(2, [circle(25.0)], 150.0)
    plain = dataclasses.replace(PLAIN_PLASTIC, flow_limit_mm3_s=2.0)
    foamed = Filament("foam", "foam", 1.24, 0.62, flow_limit_mm3_s=2.0)
    fast = dataclasses.replace(MOTION, wall_speed=200.0, first_layer_speed=200.0, acceleration=1e5)
    slow_s = layer_seconds(beads, ONE_WALL, plain, fast)[1] - fast.layer_change_s
    foam_s = layer_seconds(beads, ONE_WALL, foamed, fast)[1] - fast.layer_change_s
    assert slow_s == pytest.approx(150.0 / (2.0 / 0.081416), rel=1e-3)
    assert slow_s / foam_s == pytest.approx(2.0, rel=1e-3)


def test_speed_limit_of_the_filament():
    """A filament that allows 30 mm/s is printed at 30 mm/s whatever the printer can do."""
    beads = alike_layers(2, [circle(25.0)], 150.0)
    slow = dataclasses.replace(PLAIN_PLASTIC, speed_limit_mm_s=30.0)
    seconds = layer_seconds(beads, ONE_WALL, slow, MOTION)[1] - MOTION.layer_change_s
    assert seconds == pytest.approx(150.0 / 30.0 + 30.0 / 1000.0, rel=2e-3)


def test_first_layer_is_slow():
    """The first layer runs at its own speed, areas too."""
    beads = alike_layers(2, [circle(25.0)], 150.0, solid_mm2=1000.0, chord_mm=35.0)
    first, second = layer_seconds(beads, ONE_WALL, PLAIN_PLASTIC, MOTION)
    assert 2.1 < first / second < 3.0  # 45/20 on walls, 60/20 on areas, less what ramps cost


def test_islands_retract():
    """Four islands cost three hops and three retractions more than their walls."""
    rings = [circle(5.0) + np.array([40.0 * k, 0.0]) for k in range(4)]
    path = 4 * length_of(rings[0])
    one = layer_seconds(alike_layers(2, rings[:1], path), ONE_WALL, PLAIN_PLASTIC, MOTION)[1]
    four = layer_seconds(alike_layers(2, rings, path, islands=4), ONE_WALL, PLAIN_PLASTIC, MOTION)[1]
    hop = 40.0 / 150.0 + 150.0 / 1000.0
    assert four - one == pytest.approx(3 * (hop + MOTION.retract_s), rel=1e-6)
    foam = dataclasses.replace(PLAIN_PLASTIC, foaming=True)
    dry = layer_seconds(alike_layers(2, rings, path, islands=4), ONE_WALL, foam, MOTION)[1]
    assert four - dry == pytest.approx(3 * MOTION.retract_s)


def test_no_layers_and_empty_layers():
    """No layer gives no seconds; a layer without beads costs its layer change only."""
    assert len(layer_seconds(alike_layers(0, [], 0.0), ONE_WALL, PLAIN_PLASTIC, MOTION)) == 0
    seconds = layer_seconds(alike_layers(2, [], 0.0, islands=0), ONE_WALL, PLAIN_PLASTIC, MOTION)
    assert seconds == pytest.approx([MOTION.layer_change_s] * 2)


def test_support_and_brim_take_time():
    """A brim and support columns add what their length takes at least."""
    brim = np.array([300.0, 0.0])
    bare = alike_layers(2, [circle(25.0)], 150.0)
    more = dataclasses.replace(
        bare, brim_path_mm=brim, support_mm2=np.array([400.0, 400.0]), support_spacing_mm=2.0
    )
    extra = layer_seconds(more, ONE_WALL, PLAIN_PLASTIC, MOTION) - layer_seconds(
        bare, ONE_WALL, PLAIN_PLASTIC, MOTION
    )
    assert extra[0] > 300.0 / 20.0 + 200.0 / 20.0
    assert 200.0 / 60.0 < extra[1] < 2.0 * 200.0 / 60.0


def test_height_does_not_matter_for_alike_layers():
    """Layers that share their outlines and lengths share their seconds, but for the first."""
    beads = alike_layers(6, [rectangle(30.0, 20.0)], 100.0, chord_mm=15.0, sparse_mm2=500.0)
    seconds = layer_seconds(beads, TWO_WALLS, PLAIN_PLASTIC, MOTION)
    assert np.ptp(seconds[1:]) == 0.0
    assert beads.height_mm[0] == HEIGHT


def test_tapering_part_walked_on_every_fourth_layer():
    """A tapering square skin of 61 layers, outlines kept on every fourth, against every layer's own path."""
    sizes = np.linspace(60.0, 30.0, 61)
    layers = np.arange(61)
    walked = layers[::4]
    rings = [rectangle(sizes[q], sizes[q]) for q in walked]
    inset = [rectangle(s - WIDTH / 2.0, s - WIDTH / 2.0, WIDTH / 2.0) for s in sizes]
    path = np.array([length_of(r) for r in inset])
    beads = dataclasses.replace(
        alike_layers(61, rings, 1.0),
        wall_path_mm=path,
        wall_mm3=path * SPACING * HEIGHT,
        walked=walked.astype(np.int64),
        walked_starts=np.arange(len(walked) + 1, dtype=np.int64),
        sums=outline_sums(np.concatenate(rings), 4 * np.arange(17), np.arange(17)),
        hops=np.zeros(len(walked)),
        hop_mm=np.zeros(len(walked)),
        reach_mm=np.zeros(len(walked)),
        nearest=np.rint(layers / 4.0).astype(np.int64),
    )
    seconds = layer_seconds(beads, ONE_WALL, PLAIN_PLASTIC, MOTION) - MOTION.layer_change_s
    speeds = np.where(layers == 0, MOTION.first_layer_speed, MOTION.wall_speed)
    explicit = [
        stroke_seconds([*ring, ring[0]], v, MOTION.acceleration, MOTION.corner_deviation)
        for ring, v in zip(inset, speeds, strict=True)
    ]
    assert seconds.sum() == pytest.approx(sum(explicit), rel=ONE_PERCENT / 10.0)
    assert seconds == pytest.approx(np.array(explicit), rel=ONE_PERCENT)


def test_many_rings_are_toured_by_the_nearest():
    """Rings given in a scrambled order are toured as a builder would: row by row, not to and fro."""
    rings = [circle(2.0, 60) + np.array([10.0 * k, 0.0]) for k in (0, 3, 1, 4, 2, 5)]
    path = 6 * length_of(rings[0])
    scrambled = layer_seconds(alike_layers(2, rings, path, islands=6), ONE_WALL, PLAIN_PLASTIC, MOTION)[1]
    alone = layer_seconds(alike_layers(2, rings[:1], path), ONE_WALL, PLAIN_PLASTIC, MOTION)[1]
    hop = 2.0 * np.sqrt(10.0 / 1000.0)
    assert scrambled - alone == pytest.approx(5 * (hop + MOTION.retract_s), rel=1e-6)


@pytest.mark.parametrize(
    ("asked", "flow", "by_hand"),
    [
        (None, 1000.0, 45.0),
        (30.0, 1000.0, 30.0),
        (300.0, 1000.0, 45.0),
        (300.0, 2.0, 2.0 / (HEIGHT * SPACING)),
    ],
)
def test_the_slowest_of_recipe_printer_and_flow_holds(asked, flow, by_hand):
    """A recipe may ask for 300 mm/s: a machine of 45 mm/s walks at 45, and at 2 mm3/s slower still.

    One layer of a circle of 200 mm of wall: length / v and one ramp v / a.
    """
    recipe = dataclasses.replace(
        ONE_WALL, wall_speed_mm_s=asked, fill_speed_mm_s=asked, first_layer_speed_mm_s=asked
    )
    beads = alike_layers(3, [circle(200.0 / (2.0 * np.pi))], 200.0)
    filament = dataclasses.replace(PLAIN_PLASTIC, flow_limit_mm3_s=flow)
    seconds = layer_seconds(beads, recipe, filament, MOTION)
    expected = 200.0 / by_hand + by_hand / 1000.0 + MOTION.layer_change_s
    assert seconds[1] == pytest.approx(expected, rel=ONE_PERCENT)
    first = min(by_hand, asked or 20.0, 20.0)
    assert seconds[0] == pytest.approx(200.0 / first + first / 1000.0 + 0.8, rel=ONE_PERCENT)
