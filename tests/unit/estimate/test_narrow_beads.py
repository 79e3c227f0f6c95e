"""Beads between walls that meet, and the ways to them: by hand, and against drawn beads."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from planner.estimate.layers.sparse import sparse_lines
from planner.estimate.part import estimate_part
from planner.estimate.time.lines import line_seconds, solid_seconds, strip_seconds
from planner.estimate.time.minutes import layer_seconds
from planner.model.part import Part
from planner.model.recipe import Recipe
from tests import builders
from tests.toolpaths.generate import toolpath
from tests.toolpaths.machines import machine_of
from tests.toolpaths.seconds import path_seconds
from tests.toolpaths.settings import Settings
from tests.unit.estimate.bead_samples import MOTION, PLAIN_PLASTIC, SPACING, alike_layers, circle

RECIPE = Recipe("two", top_layers=0, bottom_layers=0, infill=0.0)


def _tube_mm(wall: float) -> float:
    """Length of the beads of one layer of a tube of 40 mm, over that of its middle line."""
    tube = builders.tube(40.0, 40.0 - 2.0 * wall, 2.0, n=360)
    made = estimate_part(tube, Part("p", "p", "s", RECIPE, "PLA"), PLAIN_PLASTIC, {"m": MOTION})
    return float(made.layers.path_mm[4]) / (math.pi * (40.0 - wall))


@pytest.mark.parametrize(
    ("wall", "beads"),
    [
        (0.4, 1.0),  # one bead
        (0.8, 2.0),  # two share 0.757 mm
        (1.0, 2.0),  # 0.143 mm between them: less than the least bead, they are wider by so much
        (1.2, 3.0),  # 0.343 mm between them: one more
        (1.5, 4.0),  # 0.643 mm between them: two of the second walls
        (1.75, 4.0),  # 0.08 mm between four
        (1.95, 5.0),  # 0.28 mm between four
    ],
)
def test_beads_across_a_wall(wall, beads):
    """Two walls of 0.407 mm each side of what round ends leave: so many beads lie side by side."""
    assert _tube_mm(wall) == pytest.approx(beads, rel=0.01)


def test_ways_to_single_beads():
    """Two hops of 20 mm, 0.283 s each, and 60 mm back where lines have taken the head away: 0.55 s."""
    plain = alike_layers(2, [circle(20.0)], 100.0)
    there = dataclasses.replace(
        plain, hops=np.array([2.0]), hop_mm=np.array([40.0]), reach_mm=np.array([60.0])
    )
    more = layer_seconds(there, RECIPE, PLAIN_PLASTIC, MOTION) - layer_seconds(
        plain, RECIPE, PLAIN_PLASTIC, MOTION
    )
    assert more[1] == pytest.approx(4.0 * math.sqrt(20.0 / 1000.0))
    fill = {"solid_mm2": np.full(2, 100.0), "chord_mm": np.full(2, 10.0)}
    there, plain = dataclasses.replace(there, **fill), dataclasses.replace(plain, **fill)
    more = layer_seconds(there, RECIPE, PLAIN_PLASTIC, MOTION) - layer_seconds(
        plain, RECIPE, PLAIN_PLASTIC, MOTION
    )
    assert more[1] == pytest.approx(4.0 * math.sqrt(20.0 / 1000.0) + 60.0 / 150.0 + 0.15)


def test_a_strip_is_filled_along_its_edge():
    """A strip of 100 x 0.814 mm is two beads of 100 mm at 60 mm/s with a ramp each, not 200 short lines.

    Mean chord pi A / P = 0.814 pi / 2, so the mean width is 0.814: two beads.
    """
    area, chord = np.array([100.0 * 2.0 * SPACING]), np.array([math.pi * SPACING])
    by_hand = 200.0 / 60.0 + 2.0 * 60.0 / 1000.0
    speed = np.array([60.0])
    assert strip_seconds(area, chord, SPACING, speed, 1000.0) == pytest.approx([by_hand])
    assert solid_seconds(area, chord, SPACING, speed, 1000.0, 0.05) == pytest.approx([by_hand])
    wide = solid_seconds(area, 10.0 * chord, SPACING, speed, 1000.0, 0.05)
    assert wide == pytest.approx(line_seconds(area, 10.0 * chord, SPACING, SPACING, speed, 1000.0, 0.05))


def test_short_lines_far_apart():
    """Ten lines of 0.5 mm, 4 mm apart, and nine steps of 5 mm, from corner speed to corner speed."""
    area, chord = np.array([10 * 4.0 * 0.5]), np.array([0.5])
    found = line_seconds(area, chord, 4.0, SPACING, np.array([60.0]), 1000.0, 0.05, step_mm=45.0)
    corner = 10.986841

    def leg(length: float) -> float:
        peak = min(60.0, math.sqrt(1000.0 * length + corner**2))
        return 2.0 * (peak - corner) / 1000.0 + (length - (peak**2 - corner**2) / 1000.0) / peak

    ends = 2.0 * (math.sqrt(1000.0 * 0.5 + 0.5 * corner**2) * 2.0 / 1000.0 - corner / 1000.0 - leg(0.5))
    assert found[0] == pytest.approx(10.0 * leg(0.5) + 9.0 * leg(5.0) + ends, rel=1e-3)


def test_the_edge_of_what_is_sparse():
    """Lines 4 mm apart over 100 mm2 with an edge of 80 mm: 25 + 40 mm, whatever the size of the inside."""
    one = [np.array([v]) for v in (100.0, 400.0, 0.5, 400.0, 160.0, 1.0, 0.0)]
    assert sparse_lines(*one, 4.0, 0.4).path_mm == pytest.approx([65.0])


@pytest.mark.parametrize("kind", ["tail", "terrace"])
def test_against_every_bead(kind):
    """A thin tail far from the end of the infill, and a flat cone of narrow rims: within two percent."""
    if kind == "tail":
        mesh, cfg = builders.aerofoil_slab(70, 1.6), Settings(top=0, bottom=0)
    else:
        mesh, cfg = builders.cone(24, 3), Settings(infill=0.0)
    recipe = Recipe(kind, top_layers=cfg.top, bottom_layers=cfg.bottom, infill=cfg.infill)
    true = path_seconds(toolpath(mesh.triangles, cfg), machine_of(MOTION, recipe, PLAIN_PLASTIC)).sum()
    made = estimate_part(mesh, Part("p", "p", "s", recipe, "PLA"), PLAIN_PLASTIC, {"m": MOTION})
    assert float(made.seconds["m"].sum()) == pytest.approx(float(true), rel=0.02)
