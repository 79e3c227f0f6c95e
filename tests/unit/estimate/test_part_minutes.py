"""Minutes of whole parts, from mesh to seconds, against their full paths written out and integrated."""

import pytest

from planner.estimate.part import estimate_part
from planner.model.part import Part
from planner.model.recipe import Recipe
from tests import builders
from tests.unit.estimate.bead_samples import MOTION, PLAIN_PLASTIC, SPACING, WIDTH, circle, rectangle
from tests.unit.estimate.explicit_path import area_strokes, hop_seconds, stroke_seconds

THREE_PERCENT = 0.03
ONE_PERCENT = 0.01


def explicit_layer(outline, walls, spacing, angle, first):
    """Seconds of one layer: walls one after the other, then lines, with every hop between."""
    a, d = MOTION.acceleration, MOTION.corner_deviation
    wall = MOTION.first_layer_speed if first else MOTION.wall_speed
    fill = MOTION.first_layer_speed if first else MOTION.fill_speed
    total, at = MOTION.layer_change_s, None
    for k in range(walls):
        for ring in outline(WIDTH / 2.0 + k * SPACING):
            if at is not None:
                total += hop_seconds(at, ring[0], MOTION.travel_speed, MOTION.travel_acceleration)
            total += stroke_seconds([*ring, ring[0]], wall, a, d)
            at = ring[0]
    if spacing is None:
        return total
    inner = outline(WIDTH / 2.0 + walls * SPACING - SPACING / 2.0)
    for stroke in area_strokes(inner, spacing, angle, SPACING / 2.0 if spacing == SPACING else 0.0):
        total += hop_seconds(at, stroke[0], MOTION.travel_speed, MOTION.travel_acceleration)
        total += stroke_seconds(stroke, fill, a, d)
        at = stroke[-1]
    return total


def explicit_part(outline, layers, recipe):
    """Seconds of all layers of an upright part: solid below and above, sparse between."""
    sparse = SPACING / recipe.infill if recipe.infill else None
    total, known = 0.0, {}
    for i in range(layers):
        solid = i < recipe.bottom_layers or i >= layers - recipe.top_layers
        key = (solid, i % 2, i == 0)
        if key not in known:
            angle = 45.0 if i % 2 else -45.0
            known[key] = explicit_layer(outline, recipe.walls, SPACING if solid else sparse, angle, i == 0)
        total += known[key]
    return total


def seconds_of(mesh, recipe):
    """Seconds of the planner's estimate."""
    part = Part("part", "part.stl", "wing", recipe, "PLA")
    deposit = estimate_part(mesh, part, PLAIN_PLASTIC, {"one": MOTION})
    return float(deposit.seconds["one"].sum())


def test_plain_block():
    """A block of 45 x 30 x 8 mm with two walls, four solid layers each side and 10 % inside."""
    recipe = Recipe("plain")
    explicit = explicit_part(lambda inset: [rectangle(45.0 - inset, 30.0 - inset, inset)], 40, recipe)
    assert seconds_of(builders.box(45.0, 30.0, 8.0), recipe) == pytest.approx(explicit, rel=THREE_PERCENT)


def test_structural_disc():
    """A disc of 40 mm with three walls and 25 % inside."""
    recipe = Recipe("structure", walls=3, infill=0.25)
    explicit = explicit_part(lambda inset: [circle(20.0 - inset, 180)], 30, recipe)
    assert seconds_of(builders.cylinder(40.0, 6.0, 180), recipe) == pytest.approx(explicit, rel=THREE_PERCENT)


def test_thick_tube():
    """A tube of 44 on 20 mm: an opening parts the lines."""
    recipe = Recipe("plain")
    explicit = explicit_part(lambda inset: [circle(22.0 - inset, 180), circle(10.0 + inset, 180)], 40, recipe)
    mesh = builders.tube(44.0, 20.0, 8.0, 180)
    assert seconds_of(mesh, recipe) == pytest.approx(explicit, rel=THREE_PERCENT)


def test_hollow_skin():
    """A round skin of one wall without top or bottom is walls only: within 1 %."""
    recipe = Recipe("skin", walls=1, top_layers=0, bottom_layers=0, infill=0.0)
    explicit = explicit_part(lambda inset: [circle(25.0 - inset, 180)], 100, recipe)
    assert seconds_of(builders.cylinder(50.0, 20.0, 180), recipe) == pytest.approx(explicit, rel=ONE_PERCENT)
