"""Top layers and bridges: their areas and seconds by hand, and against every bead drawn."""

from __future__ import annotations

import dataclasses
from typing import Any

import numpy as np
import pytest

from planner.estimate.layers.areas import layer_areas
from planner.estimate.layers.faces import Faces
from planner.estimate.layers.layers import layer_plan
from planner.estimate.part import estimate_part
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.sections.section import sections
from planner.model.part import Part
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests import builders
from tests.toolpaths.generate import toolpath
from tests.toolpaths.machines import machine_of
from tests.toolpaths.parts import PARTS
from tests.toolpaths.seconds import path_seconds
from tests.toolpaths.settings import Settings
from tests.unit.estimate.bead_samples import PLAIN_PLASTIC

PLAIN = Recipe("plain")
DEPTH = 0.5 * (0.45 - PLAIN.pitch_mm) + 2.0 * PLAIN.pitch_mm  # of two walls
INSIDE = (30.0 - 2.0 * DEPTH) * (20.0 - 2.0 * DEPTH)


def seconds(mesh: TriangleMesh, recipe: Recipe, motion: Motion | None = None) -> np.ndarray:
    """Of every layer."""
    part = Part("p", "p", "s", recipe, "PLA")
    return estimate_part(mesh, part, PLAIN_PLASTIC, {"m": motion or Motion()}).seconds["m"]


def found(mesh: TriangleMesh, **keys: Any) -> tuple[Faces, np.ndarray]:
    """Faces and the free inside of every layer."""
    recipe = dataclasses.replace(PLAIN, **keys)
    plan = layer_plan(float(mesh.extents[2]), recipe)
    cut = sections(mesh, plan.mid_mm, recipe.layer_height_mm)
    work = layer_areas(cut, plan, Part("p", "p", "s", recipe, "PLA"), 1.0, apart=True)
    return work.faces, work.inner_mm2


def test_a_box_by_hand():
    """Nothing above the last of twenty layers; the first of its four solid ones lies on sparse lines."""
    faces, inner = found(builders.box(30, 20, 4))
    assert inner == pytest.approx(np.full(20, INSIDE), rel=0.001)
    assert np.flatnonzero(faces.top).tolist() == [19]
    assert np.flatnonzero(faces.bridge).tolist() == [16]
    assert faces.top[19] == pytest.approx(1.0)
    assert faces.bridge[16] == pytest.approx(1.0)


def test_what_lies_on_solid_is_no_bridge():
    """Filled whole there are no sparse lines to bridge; with no top layers nothing is a top layer."""
    assert not found(builders.box(30, 20, 4), infill=1.0)[0].bridge.any()
    assert not found(builders.box(30, 20, 4), top_layers=0)[0].any


def test_over_nothing():
    """The ceiling of a cavity of 16 x 12 mm is a bridge on the layer above it, its floor a top layer."""
    hole = builders.inward(builders.box(16, 12, 4, (5, 5, 2)))
    faces, inner = found(builders.joined(builders.box(26, 22, 8), hole))
    area = faces.bridge * inner
    assert area[30] == pytest.approx(16.0 * 12.0, rel=0.01)
    assert (faces.top * inner)[9] == pytest.approx(16.0 * 12.0, rel=0.01)
    assert area[29] == 0.0


def test_strips_narrower_than_a_bead_are_no_bridge():
    """A cone of 45 degrees runs 0.2 mm sideways a layer: no bead hangs. At 20 degrees it runs 0.55 mm."""
    steep = found(builders.cone(30, 15))[0]
    assert not steep.bridge[5:-6].any()
    flat = found(builders.cone(44, 8))[0]
    assert (flat.bridge[5:20] > 0.0).all()


@pytest.mark.parametrize(("key", "layer"), [("top_speed", 19), ("bridge_speed", 16)])
def test_minutes_by_hand(key, layer):
    """15 mm/s in place of 60: area / bead x (1 / 15 - 1 / 60) s more, less the ramps, on that layer only.

    The printer's key does what the recipe's does, and the slower of both holds.
    """
    mesh = builders.box(30, 20, 4)
    plain = seconds(mesh, PLAIN)
    asked = dataclasses.replace(PLAIN, **{f"{key}_mm_s": 15.0})
    more = seconds(mesh, asked) - plain
    by_hand = INSIDE / PLAIN.pitch_mm * (1.0 / 15.0 - 1.0 / 60.0)
    assert more[layer] == pytest.approx(by_hand, rel=0.08)
    assert np.flatnonzero(np.abs(more) > 1e-9).tolist() == [layer]
    held = Motion(**{key: 15.0})
    assert np.array_equal(seconds(mesh, PLAIN, held), seconds(mesh, asked))
    quick = dataclasses.replace(PLAIN, **{f"{key}_mm_s": 500.0})
    assert np.array_equal(seconds(mesh, quick, held), seconds(mesh, asked))


def test_without_a_speed_they_follow_solid_layers():
    """The same speed, asked for or not: the same seconds, also where the hot end is the limit."""
    mesh = builders.box(30, 20, 4)
    slow = dataclasses.replace(PLAIN, solid_speed_mm_s=30.0)
    same = dataclasses.replace(slow, top_speed_mm_s=30.0, bridge_speed_mm_s=30.0)
    assert np.array_equal(seconds(mesh, same), seconds(mesh, slow))
    weak = dataclasses.replace(PLAIN_PLASTIC, flow_limit_mm3_s=1.0)
    part = Part("p", "p", "s", dataclasses.replace(PLAIN, top_speed_mm_s=60.0), "PLA")
    plain = dataclasses.replace(part, recipe=PLAIN)
    limited, unasked = (estimate_part(mesh, one, weak, {"m": Motion()}).seconds["m"] for one in (part, plain))
    assert np.array_equal(limited, unasked)


def test_against_every_bead():
    """A box whose top layer and bridge are slow, against its toolpath: within two percent."""
    recipe = Recipe("box", infill=0.2, top_speed_mm_s=20.0, bridge_speed_mm_s=12.0)
    mesh = builders.box(20, 14, 3)
    layers = toolpath(mesh.triangles, Settings(infill=0.2, faces=True))
    true = float(path_seconds(layers, machine_of(Motion(), recipe, PLAIN_PLASTIC)).sum())
    assert float(seconds(mesh, recipe).sum()) == pytest.approx(true, rel=0.02)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["flat cone", "frustum", "sphere", "box with a cavity", "rib"])
def test_parts_against_every_bead(name):
    """Areas within two percent, minutes within five; flat slopes, ceilings inside, holes."""
    part = next(one for one in PARTS if one.name == name)
    recipe = dataclasses.replace(part.planned(), top_speed_mm_s=20.0, bridge_speed_mm_s=12.0)
    mesh = part.make()
    layers = toolpath(mesh.triangles, part.settings(faces=True))
    true = float(path_seconds(layers, machine_of(Motion(), recipe, PLAIN_PLASTIC)).sum())
    assert float(seconds(mesh, recipe).sum()) == pytest.approx(true, rel=0.05)
    faces, inner = found(mesh, **part.recipe)
    for kind, share in (("top", faces.top), ("bridge", faces.bridge)):
        laid = sum(layer.volume(kind) for layer in layers)
        height = recipe.layer_height_mm
        assert float((share * inner).sum()) * height == pytest.approx(laid, rel=0.02, abs=1.5)
