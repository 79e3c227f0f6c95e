"""Pins in their sockets: how far two bodies that stand one on the other reach into each other."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest

from planner.geometry.assembly.mating import mated
from tests.builders import box, cylinder, joined, moved
from tests.kits.shapes import Solid, block, mesh_of, rod, segment, wing_panel

NEAR_MM = 1e-4  # meshes of solids come in single precision
PINS = ((20.0, 5.0), (60.0, 5.0))


def facets(solid: Solid) -> np.ndarray:
    return mesh_of(solid).triangles


def bar(height: float, pin: float = 0.0, socket: float = 0.0, gap: float = 0.2, wide: float = 80.0) -> Solid:
    """A block of 80 x 10 mm with two 5 mm pins on top, and two sockets below."""
    body = block(wide, 10.0, height)
    for x, y in PINS:
        if pin:
            body = body + rod(5.0, pin + 1.0, (x, y, height - 1.0))
        if socket:
            body = body - rod(5.0 + gap, socket + 1.0, (x, y, -1.0))
    return body


@pytest.mark.parametrize("gap", [0.1, 0.2, 0.3])
def test_pins_in_sockets_by_hand(gap):
    """Pins of 12 mm in sockets of 13 mm: 12 mm are shared, whatever room is about them."""
    found = mated(facets(bar(50.0, pin=12.0)), facets(bar(70.0, socket=13.0, gap=gap)))
    assert found.overlap_mm == pytest.approx(12.0, abs=NEAR_MM)
    assert found.by_before
    assert found.loose_before_mm == found.loose_behind_mm == 0.0


def test_pins_that_reach_back_count_alike():
    """The part behind carries the pins: still 12 mm, and it is told whose they are."""
    flip = bar(70.0, pin=12.0).mirror((0.0, 0.0, 1.0))
    hole = bar(50.0, socket=13.0).mirror((0.0, 0.0, 1.0))
    found = mated(facets(hole), facets(flip))
    assert found.overlap_mm == pytest.approx(12.0, abs=NEAR_MM)
    assert not found.by_before


def test_pins_of_both_add_up():
    """One pin of 8 mm up and one of 6 mm down, each in a socket: 14 mm are shared."""
    first = block(80, 10, 40) + rod(5, 9, (20, 5, 39)) - rod(5.2, 9, (60, 5, 33))
    second = block(80, 10, 40) - rod(5.2, 11, (20, 5, -1)) + rod(5, 7, (60, 5, -6))
    assert mated(facets(first), facets(second)).overlap_mm == pytest.approx(14.0, abs=NEAR_MM)


def test_a_collar_in_the_next_tube():
    """A tube with a narrower collar of 15 mm on top, in the next tube of the same width."""

    def round_(diameter, height, at):
        return Solid.cylinder(height, diameter / 2, diameter / 2, 48).translate((0, 0, at))

    tube = round_(60, 80, 0) - round_(54, 82, -1)
    collar = tube + (round_(53.8, 25, 70) - round_(48, 27, 69))
    assert mated(facets(collar), facets(tube)).overlap_mm == pytest.approx(15.0, abs=NEAR_MM)


@pytest.mark.parametrize(
    ("before", "behind"),
    [
        (facets(bar(50.0)), facets(bar(70.0))),
        (facets(bar(50.0)), facets(bar(70.0, socket=13.0))),
        (facets(bar(50.0, socket=13.0)), facets(bar(70.0, socket=13.0))),
    ],
    ids=["plain", "sockets without pins", "sockets at all ends"],
)
def test_without_pins_nothing_is_shared(before, behind):
    """Plain ends and empty sockets leave the length as it is, and nothing is doubted."""
    found = mated(before, behind)
    assert (found.overlap_mm, found.loose_before_mm, found.loose_behind_mm) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    "behind",
    [
        facets(bar(70.0)),
        facets(bar(70.0, socket=9.0)),
        facets(bar(70.0, socket=13.0, gap=-1.0)),
        facets(bar(70.0, socket=13.0, wide=95.0)),
        facets(
            block(80.0, 10.0, 70.0) - rod(5.2, 14.0, (21.0, 5.0, -1.0)) - rod(5.2, 14.0, (61.0, 5.0, -1.0))
        ),
    ],
    ids=["no socket", "too shallow", "too narrow", "another outline", "in another place"],
)
def test_pins_that_nothing_takes_are_doubted(behind):
    """What does not fit shares nothing, and the pins are told with their length."""
    found = mated(facets(bar(50.0, pin=12.0)), behind)
    assert found.overlap_mm == 0.0
    assert found.loose_before_mm == pytest.approx(12.0, abs=NEAR_MM)
    assert found.loose_behind_mm == 0.0


def test_a_slanting_or_round_end_is_left_alone():
    """No plane face across the stack: nothing is shared, nothing is doubted."""
    ball = manifold3d.Manifold.sphere(20.0, 32)
    assert mated(facets(ball), facets(bar(70.0))).overlap_mm == 0.0
    leaning = bar(50.0, pin=12.0).rotate((20.0, 0.0, 0.0))
    assert mated(facets(leaning), facets(bar(70.0, socket=13.0))).overlap_mm == 0.0


def test_bodies_need_not_be_one_shell():
    """A block with pins that are bodies of their own inside it, as some programs write them."""
    pinned = joined(box(80, 10, 50), *(moved(cylinder(5.0, 20.0, 24), x, y, 42.0) for x, y in PINS))
    found = mated(pinned.triangles, facets(bar(70.0, socket=13.0)))
    assert found.overlap_mm == pytest.approx(12.0, abs=NEAR_MM)


def test_where_a_body_lies_across_does_not_matter():
    """Files drawn each from its own corner mate as well."""
    away = mesh_of(bar(70.0, socket=13.0)).triangles + np.array([-311.0, 47.0, 12.0])
    assert mated(facets(bar(50.0, pin=12.0)), away).overlap_mm == pytest.approx(12.0, abs=NEAR_MM)


@pytest.mark.parametrize("length", [40.0, 85.0])
def test_panels_and_segments_of_kits(length):
    """A panel's pins are 6 mm long, a segment's 3 mm, in sockets of one millimetre more."""
    assert mated(
        facets(wing_panel(110, 60, 3)), facets(wing_panel(110, length, 3))
    ).overlap_mm == pytest.approx(6.0, abs=NEAR_MM)
    assert mated(
        facets(segment(55, 60, 4, 3, False)), facets(segment(55, length, 4, 3, False))
    ).overlap_mm == pytest.approx(3.0, abs=NEAR_MM)


@pytest.mark.parametrize("seed", range(20))
def test_damaged_facets_give_a_number(seed):
    """Missing, shaken, doubled and flattened facets: a length that is not below zero, never an error."""
    rng = np.random.default_rng(seed)
    whole = facets(bar(50.0, pin=12.0, socket=13.0))
    for made in (
        whole[rng.random(len(whole)) < 0.7],
        whole + rng.normal(0.0, 0.05, whole.shape),
        np.concatenate([whole, whole[:, ::-1] + rng.uniform(-3.0, 3.0, 3)]),
        whole * np.array([1.0, 1.0, 0.0]),
        rng.uniform(-20.0, 20.0, (100, 3, 3)),
    ):
        for pair in ((whole, made), (made, whole)):
            assert 0.0 <= mated(*pair).overlap_mm <= 50.0
