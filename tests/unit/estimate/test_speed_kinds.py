"""Every kind of bead at its own speed: circles worked by hand, and a part against its toolpath."""

from __future__ import annotations

import dataclasses
import math

import pytest

from planner.errors import RecordError
from planner.estimate.part import estimate_part
from planner.estimate.time import accelerations
from planner.estimate.time.minutes import layer_seconds
from planner.model.part import Part
from planner.model.printer import ACCELERATIONS, OWN_SPEEDS, Motion
from planner.model.recipe import Recipe
from tests import builders
from tests.toolpaths.generate import toolpath
from tests.toolpaths.machines import machine_of
from tests.toolpaths.seconds import path_seconds
from tests.toolpaths.settings import Settings
from tests.unit.estimate.bead_samples import MOTION, PLAIN_PLASTIC, alike_layers, circle

SKIN = Recipe("two", walls=2, top_layers=0, bottom_layers=0, infill=0.0)


def layer(recipe: Recipe, motion: Motion, radius: float = 20.0, **columns: float) -> float:
    """Seconds of the second of two layers, two walls as long as the outline each."""
    beads = alike_layers(2, [circle(radius)], 4.0 * math.pi * radius, **columns)
    return float(layer_seconds(beads, recipe, PLAIN_PLASTIC, motion)[1])


@pytest.mark.parametrize("asked", [True, False])
def test_outer_wall(asked):
    """A circle of 125.7 mm at 20 mm/s and one at 45: 3.49 s more than both at 45, ramps v / a apart."""
    recipe = dataclasses.replace(SKIN, outer_wall_speed_mm_s=20.0) if asked else SKIN
    motion = MOTION if asked else dataclasses.replace(MOTION, outer_wall_speed=20.0)
    around = 2.0 * math.pi * 20.0
    more = around / 20.0 - around / 45.0 + (20.0 - 45.0) / 1000.0
    assert layer(recipe, motion) - layer(SKIN, MOTION) == pytest.approx(more, rel=0.01)


def test_outer_wall_acceleration():
    """At 100 mm/s2 the outer circle pays one ramp of 0.45 s in place of 0.045 s."""
    slow = dataclasses.replace(MOTION, outer_wall_acceleration=100.0)
    assert layer(SKIN, slow) - layer(SKIN, MOTION) == pytest.approx(0.405, rel=0.05)


def test_small_loops():
    """Rings shorter than 20 mm run at their own speed, longer ones do not."""
    slow = dataclasses.replace(MOTION, small_loop_speed=10.0)
    assert layer(SKIN, slow) == layer(SKIN, MOTION)
    around = 4.0 * math.pi * 3.0
    more = around / 10.0 - around / 45.0 - 2.0 * 0.035
    assert layer(SKIN, slow, radius=3.0) - layer(SKIN, MOTION, radius=3.0) == pytest.approx(more, rel=0.02)


@pytest.mark.parametrize(
    ("key", "column"), [("solid_speed", "solid_mm2"), ("support_speed", "support_solid_mm2")]
)
def test_areas(key, column):
    """Solid layers and support follow the fills until they have a speed of their own; sparse lines do not."""
    slow = dataclasses.replace(MOTION, **{key: 30.0})
    filled = {"chord_mm": 30.0, column: 900.0}
    assert layer(SKIN, slow, **filled) > 1.3 * layer(SKIN, MOTION, **filled)
    asked = dataclasses.replace(SKIN, **{f"{key}_mm_s": 30.0})
    assert layer(asked, MOTION, **filled) == pytest.approx(layer(SKIN, slow, **filled))
    assert layer(SKIN, slow) == layer(SKIN, MOTION)


def test_a_recipe_that_slows_all_walls_slows_the_outer_one():
    """``wall_speed_mm_s = 20`` holds for both walls, also where the printer's outer wall could run at 30."""
    slow = dataclasses.replace(SKIN, wall_speed_mm_s=20.0)
    printer = dataclasses.replace(MOTION, outer_wall_speed=30.0)
    assert layer(slow, printer) == pytest.approx(layer(slow, MOTION))


def test_against_every_bead():
    """A box with all kinds at different speeds, against its toolpath: within two percent."""
    motion = Motion(outer_wall_speed=25.0, solid_speed=35.0, outer_wall_acceleration=500.0)
    recipe, mesh = Recipe("box", infill=0.2), builders.box(30, 20, 4)
    true = path_seconds(
        toolpath(mesh.triangles, Settings(infill=0.2)), machine_of(motion, recipe, PLAIN_PLASTIC)
    )
    ours = estimate_part(mesh, Part("p", "p", "s", recipe, "PLA"), PLAIN_PLASTIC, {"m": motion})
    assert float(ours.seconds["m"].sum()) == pytest.approx(float(true.sum()), rel=0.02)


@pytest.mark.parametrize(
    ("key", "more"),
    [
        ("outer_wall_acceleration", 0.0),
        ("fill_acceleration", 0.01),
        ("solid_acceleration", 0.01),
        ("first_layer_acceleration", 0.001),
    ],
)
def test_accelerations_against_every_bead(key, more):
    """A box with one kind at 200 mm/s2, against its toolpath: within four percent, and longer than without.

    Lines of areas are reckoned at their mean length, which is too slow where they never reach their speed.
    """
    recipe, mesh = Recipe("box", infill=0.2), builders.box(20, 14, 3)
    part = Part("p", "p", "s", recipe, "PLA")
    layers = toolpath(mesh.triangles, Settings(infill=0.2))
    both = []
    for motion in (Motion(), Motion(**{key: 200.0})):
        true = float(path_seconds(layers, machine_of(motion, recipe, PLAIN_PLASTIC)).sum())
        ours = float(estimate_part(mesh, part, PLAIN_PLASTIC, {"m": motion}).seconds["m"].sum())
        assert ours == pytest.approx(true, rel=0.04)
        both.append(ours)
    assert both[1] > both[0] * (1.0 + more)


def test_acceleration_of_support():
    """Support follows the fills until it has an acceleration of its own; the walls do not."""
    held = {"chord_mm": 30.0, "support_solid_mm2": 900.0}
    of_fills = dataclasses.replace(MOTION, fill_acceleration=200.0)
    of_support = dataclasses.replace(MOTION, support_acceleration=200.0)
    assert layer(SKIN, of_support, **held) > 1.1 * layer(SKIN, MOTION, **held)
    assert layer(SKIN, of_fills, **held) == pytest.approx(layer(SKIN, of_support, **held))
    assert layer(SKIN, of_fills) == layer(SKIN, MOTION)


@pytest.mark.parametrize("key", ACCELERATIONS)
def test_no_acceleration_of_nothing(key):
    """Refused with the key."""
    with pytest.raises(RecordError, match=key):
        Motion(**{key: 0.0})


@pytest.mark.parametrize("key", OWN_SPEEDS)
def test_refused(key):
    """No speed of nothing."""
    with pytest.raises(RecordError, match=key):
        Motion(**{key: 0.0})


KINDS = {
    "acceleration": {},
    "outer_wall_acceleration": {},
    "fill_acceleration": {"sparse_mm2": 900.0, "sparse_path_mm": 240.0, "sparse_spacing_mm": 4.0},
    "solid_acceleration": {"solid_mm2": 900.0},
    "support_acceleration": {"support_solid_mm2": 900.0},
}


@pytest.mark.parametrize("key", KINDS)
def test_accelerations_of_a_recipe(key):
    """As the printer's own, kind by kind; of both the lower holds, whoever names it."""
    columns = {"chord_mm": 30.0, **KINDS[key]}
    slow = dataclasses.replace(MOTION, **{key: 200.0})
    asked = dataclasses.replace(SKIN, **{f"{key}_mm_s2": 200.0})
    eager = dataclasses.replace(SKIN, **{f"{key}_mm_s2": 5000.0})
    known = layer(SKIN, slow, **columns)
    assert known > layer(SKIN, MOTION, **columns) + 0.1
    assert layer(asked, MOTION, **columns) == pytest.approx(known)
    assert layer(eager, slow, **columns) == pytest.approx(known)
    assert layer(eager, MOTION, **columns) == pytest.approx(layer(SKIN, MOTION, **columns))


def test_acceleration_of_the_first_layer_of_a_recipe():
    """The first of two layers takes longer, the second does not, as with the printer's own."""
    asked = dataclasses.replace(SKIN, first_layer_acceleration_mm_s2=50.0)
    slow = dataclasses.replace(MOTION, first_layer_acceleration=50.0)
    beads = alike_layers(2, [circle(20.0)], 4.0 * math.pi * 20.0)
    plain, by_recipe, by_printer = (
        layer_seconds(beads, recipe, PLAIN_PLASTIC, motion)
        for recipe, motion in ((SKIN, MOTION), (asked, MOTION), (SKIN, slow))
    )
    assert by_recipe == pytest.approx(by_printer)
    assert by_recipe[0] > plain[0] + 0.1
    assert by_recipe[1] == pytest.approx(plain[1])


def test_kinds_follow_on_either_side():
    """A recipe's fills hold for solid layers and support, not for outer walls; the printer's is lower."""
    motion = dataclasses.replace(MOTION, solid_acceleration=150.0)
    held = accelerations.asked(dataclasses.replace(SKIN, fill_acceleration_mm_s2=300.0), motion)
    assert held.fill_acceleration == held.support_acceleration == 300.0
    assert held.solid_acceleration == 150.0
    assert held.outer_wall_acceleration == held.acceleration == 1000.0
    assert held.first_layer_acceleration is None
    assert accelerations.asked(SKIN, motion) is motion


def test_support_takes_the_acceleration_of_its_recipe():
    """Also where the seconds of support are told apart."""
    recipe = Recipe("held", support="everywhere")
    slow = dataclasses.replace(recipe, support_acceleration_mm_s2=100.0)
    mesh = builders.joined(builders.box(6, 6, 6), builders.box(18, 6, 1, (0.0, 0.0, 6.0)))
    told = [
        estimate_part(mesh, Part("p", "p", "s", one, "PLA"), PLAIN_PLASTIC, {"m": MOTION}).support_s["m"]
        for one in (recipe, slow)
    ]
    assert told[1] > 1.1 * told[0]
