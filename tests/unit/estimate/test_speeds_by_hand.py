"""Speeds, ways and seconds of a bed, each against a plain reckoning."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest

from planner.estimate.inertia import tensor
from planner.estimate.layers.first_layer import brim, slender
from planner.estimate.layers.hanging import hanging
from planner.estimate.layers.spiral import spiral_rule
from planner.estimate.time.bed_kernel import bed_seconds
from planner.estimate.time.motion import move_seconds
from planner.estimate.time.speeds import speeds, tells_faces
from planner.estimate.time.travel_kernel import tours
from planner.model.filament import Filament
from planner.model.printer import Motion
from planner.model.recipe import Recipe

PLA = Filament("PLA", "PLA", 1.24, 1.24, flow_limit_mm3_s=10.0)
MOTION = Motion(wall_speed=50.0, fill_speed=80.0, first_layer_speed=20.0)
RECIPE = Recipe("plain")
KINDS = ("outer", "wall", "fill", "solid", "top", "bridge", "support")


def beads(path=(100.0, 100.0), volume=(8.0, 8.0), height=0.2, spacing=0.4):
    """Two layers: walls of 0.08 mm2, fills of 0.2 x 0.4 mm2."""
    return SimpleNamespace(
        height_mm=np.full(2, height),
        solid_spacing_mm=spacing,
        wall_path_mm=np.array(path),
        wall_mm3=np.array(volume),
    )


def second(recipe=RECIPE, filament=PLA, motion=MOTION, of=None) -> dict[str, float]:
    """Speeds of the second layer."""
    found = speeds(of or beads(), recipe, filament, motion)
    return {kind: float(getattr(found, kind)[1]) for kind in KINDS}


def test_what_nobody_sets_is_that_of_all_walls_and_all_fills():
    """50 for walls, 80 for all else; 20 on the first layer."""
    assert second() == {"outer": 50.0, "wall": 50.0, **dict.fromkeys(KINDS[2:], 80.0)}
    assert all(getattr(speeds(beads(), RECIPE, PLA, MOTION), kind)[0] == 20.0 for kind in KINDS)
    slow = replace(MOTION, wall_speed=15.0)
    assert speeds(beads(), RECIPE, PLA, slow).wall.tolist() == [15.0, 15.0]
    asked = replace(RECIPE, first_layer_speed_mm_s=12.0)
    assert speeds(beads(), asked, PLA, MOTION).fill[0] == 12.0


@pytest.mark.parametrize(
    ("recipe", "motion", "wanted"),
    [
        ({"wall_speed_mm_s": 30.0}, {}, {"outer": 30.0, "wall": 30.0}),
        ({"wall_speed_mm_s": 90.0}, {}, {}),  # no recipe makes a machine quicker
        ({"outer_wall_speed_mm_s": 25.0}, {}, {"outer": 25.0}),
        ({}, {"outer_wall_speed": 25.0}, {"outer": 25.0}),
        ({"fill_speed_mm_s": 60.0}, {}, dict.fromkeys(KINDS[2:], 60.0)),
        ({"solid_speed_mm_s": 60.0}, {}, {"solid": 60.0, "top": 60.0, "bridge": 60.0}),
        (
            {"solid_speed_mm_s": 60.0, "top_speed_mm_s": 40.0},
            {},
            {"solid": 60.0, "top": 40.0, "bridge": 60.0},
        ),
        ({"bridge_speed_mm_s": 30.0}, {}, {"bridge": 30.0}),
        ({"support_speed_mm_s": 70.0}, {}, {"support": 70.0}),
        ({}, {"solid_speed": 60.0}, {"solid": 60.0, "top": 60.0, "bridge": 60.0}),
        ({}, {"top_speed": 40.0}, {"top": 40.0}),
        ({}, {"bridge_speed": 40.0}, {"bridge": 40.0}),
        ({}, {"support_speed": 70.0}, {"support": 70.0}),
    ],
)
def test_each_kind_by_its_own_rule(recipe, motion, wanted):
    """What is set counts for its kind and for those that follow it."""
    plain = {"outer": 50.0, "wall": 50.0, **dict.fromkeys(KINDS[2:], 80.0)}
    assert second(replace(RECIPE, **recipe), motion=replace(MOTION, **motion)) == {**plain, **wanted}
    faces = {"top_speed_mm_s", "bridge_speed_mm_s", "top_speed", "bridge_speed"}
    told = tells_faces(replace(RECIPE, **recipe), replace(MOTION, **motion))
    assert told is bool(faces & {*recipe, *motion})


def test_the_hot_end_melts_no_more_than_its_limit():
    """4 mm3/s through 0.08 mm2 are 50 mm/s; of foam that takes half of it, 100; with a trim of 2, 25.
    Walls of 0.16 mm2 run at 25; where a layer has no walls its beads are those of the fill."""
    slow = replace(PLA, flow_limit_mm3_s=4.0)
    assert second(filament=slow)["fill"] == pytest.approx(50.0)
    foam = replace(slow, deposited_g_per_cm3=0.62, foaming=True, flow_limit_mm3_s=2.0)
    assert second(filament=foam)["fill"] == pytest.approx(50.0)
    assert second(replace(RECIPE, flow_trim=2.0), slow)["fill"] == pytest.approx(25.0)
    wide = beads(volume=(16.0, 16.0))
    assert second(filament=slow, of=wide)["wall"] == pytest.approx(25.0)
    assert second(filament=slow, of=beads(path=(0.0, 0.0)))["wall"] == pytest.approx(50.0)
    assert second(filament=replace(PLA, speed_limit_mm_s=33.0)) == dict.fromkeys(KINDS, 33.0)


# --- ways from ring to ring


def plain_tour(points: list[tuple[float, float]], speed: float, pull: float) -> float:
    """Nearest one next, from the first."""
    at, left, total = points[0], points[1:], 0.0
    while left:
        best = min(left, key=lambda p: math.dist(at, p))
        total += float(move_seconds(math.dist(at, best), speed, pull))
        left.remove(best)
        at = best
    return total


def test_ways_against_a_plain_tour():
    """Five layers of rings of random places, one without a ring and one of a single ring."""
    rng = np.random.default_rng(3)
    counts = [4, 0, 1, 7, 12]
    rings = [[rng.uniform(-50.0, 50.0, (3, 2)) for _ in range(count)] for count in counts]
    flat = [ring for layer in rings for ring in layer]
    points = np.concatenate(flat)
    starts = 3 * np.arange(len(flat) + 1)
    walked = np.concatenate([[0], np.cumsum(counts)])
    found = tours(points, starts, walked, 120.0, 900.0)
    wanted = [plain_tour([tuple(r[0]) for r in layer], 120.0, 900.0) if layer else 0.0 for layer in rings]
    assert found == pytest.approx(wanted)
    assert found[1] == found[2] == 0.0


def test_many_rings_are_toured_as_given():
    """Beyond 400 rings nobody looks for the nearest: there and back over 2 mm, 400 times."""
    points = np.array([(0.0, 0.0), (2.0, 0.0)] * 201)[:401]
    found = tours(points, np.arange(402), np.array([0, 401]), 100.0, 1000.0)
    assert found[0] == pytest.approx(400 * float(move_seconds(2.0, 100.0, 1000.0)))


# --- a bed of several pieces


def plain_bed(columns, reach, change, least, members, travel) -> float:
    """Layer by layer, as the model says, without a thought for speed."""
    speed, pull, retract, layer_change, alone = travel
    if alone:
        own = sum(plain_bed(columns, reach, change, least, [m], (*travel[:4], 0.0)) for m in members)
        ways = [(reach[a] + reach[b]) / 2.0 for a, b in pairwise(members)]
        return own + sum(float(move_seconds(w, speed, pull)) + retract for w in ways)
    tall = max(len(columns[m]) for m in members)
    top = next(m for m in members if len(columns[m]) == tall)
    total = 0.0
    for k in range(tall):
        there = [m for m in members if k < len(columns[m])]
        seconds = sum(columns[m][k] - change[m] for m in there)
        if len(there) > 1:
            hop = float(move_seconds(sum(reach[m] for m in there) / len(there), speed, pull)) + retract
            seconds += (len(there) - 1) * hop + layer_change
        else:
            seconds += change[top]
        total += max(seconds, max(least[m] for m in members))
    return total


@pytest.mark.parametrize("alone", [0.0, 1.0])
@pytest.mark.parametrize("seed", range(6))
def test_seconds_of_a_bed_against_a_plain_sum(seed, alone):
    """Random pieces of one to nine layers, some spiral, any of them on the bed, in any order."""
    rng = np.random.default_rng(seed)
    columns = [rng.uniform(2.0, 60.0, rng.integers(1, 10)) for _ in range(5)]
    starts = np.concatenate([[0], np.cumsum([len(c) for c in columns])])
    reach, change = rng.uniform(5.0, 90.0, 5), rng.choice([0.0, 1.5], 5)
    least = rng.uniform(0.0, 20.0, 5)
    travel = (150.0, 800.0, 0.4, 1.5, alone)
    for count in (1, 2, 5):
        members = rng.permutation(5)[:count]
        found = bed_seconds(np.concatenate(columns), starts, reach, change, least, members, np.array(travel))
        wanted = plain_bed(columns, reach, change, least, members.tolist(), travel)
        assert found == pytest.approx(wanted)


# --- first layers, things that hang, spirals, inertia


def test_a_part_too_tall_for_its_foot():
    """A foot of 10 x 10 mm is as wide as a disc of 11.28 mm: 90.3 mm tall is the limit without a brim."""
    foot = [np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])]
    assert slender(foot, 90.2, 0.0, "mast") == []
    (told,) = slender(foot, 90.3, 0.0, "mast")
    assert told.about == "mast"
    assert told.text.startswith("90 mm tall on a foot of 1.0 cm²")
    assert slender(foot, 900.0, 3.0, "mast") == slender([], 900.0, 0.0, "mast") == []
    apart = [*foot, foot[0] + (90.0, 0.0)]  # two feet hold it by what lies between them
    assert slender(apart, 90.3, 0.0, "mast") == []


def test_a_brim_by_hand():
    """3 mm about a square of 10: 120 mm2 along its sides and a disc of 28.27; none where none is asked."""
    foot = [np.array([(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])]
    assert brim(foot, 3.0).area_mm2 == pytest.approx(120.0 + 9.0 * math.pi, rel=0.01)
    assert (brim(foot, 0.0).area_mm2, brim([], 3.0).rings) == (0.0, ())


@pytest.mark.parametrize(
    ("support", "overhang", "unheld", "weight"),
    [
        ("none", 50.0, 0.0, "doubt"),
        ("none", 49.9, 99.0, None),
        ("as modelled", 50.0, 0.0, "note"),
        ("bed only", 999.0, 49.9, None),
        ("bed only", 0.0, 50.0, "doubt"),
        ("everywhere", 999.0, 999.0, None),
    ],
)
def test_what_hangs_without_support(support, overhang, unheld, weight):
    """From 50 mm2 on, unless it is held."""
    cut = SimpleNamespace(overhang=overhang, overhang_at=(0.0, 0.0, 12.0))
    found = hanging(cut, replace(RECIPE, support=support), unheld, "wing")
    assert [f.weight for f in found] == ([] if weight is None else [weight])
    assert all(f.text.startswith("0.5 cm² look down flatter than 40°") for f in found)


def test_layers_of_a_spiral():
    """Three bottom layers of two walls, then one bead that climbs; no walls at all are one."""
    walls, climbs = spiral_rule(5, replace(RECIPE, bottom_layers=3))
    assert (walls.tolist(), climbs.tolist()) == ([2, 2, 2, 1, 1], [False] * 3 + [True] * 2)
    assert spiral_rule(2, replace(RECIPE, bottom_layers=1, walls=0))[0].tolist() == [1, 1]


def test_inertia_of_a_box_of_layers():
    """A box of 30 x 20 x 10 mm of 12 g in ten layers: m (b2 + c2) / 12 about its centre, and by the rule of
    parallel axes about its corner. Source: textbook mechanics."""
    mids, heights = np.arange(0.5, 10.0), np.ones(10)
    own = np.tile([30.0**2 / 12.0, 20.0**2 / 12.0, 0.0], (10, 1))
    halves = [(np.full(10, 0.6), np.tile([15.0, 10.0], (10, 1)), own)] * 2
    about = tensor(halves, mids, heights, np.array([15.0, 10.0, 5.0]))
    assert about == pytest.approx((500.0, 1000.0, 1300.0, 0.0, 0.0, 0.0))
    corner = tensor(halves, mids, heights, np.zeros(3))
    assert corner == pytest.approx((500 + 12 * 125, 1000 + 12 * 250, 1300 + 12 * 325, 1800.0, 900.0, 600.0))
