"""The yes or no for one placement."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Point, Polygon, box

from planner.model.printer import Bed
from planner.nesting.feasibility.clearance import Clearance, Place
from planner.nesting.problem.item import BedKind, FilledBed
from planner.nesting.problem.placement import lay
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, round_bed, square_bed

SIMPLER_MM = 0.2  # by which an outline may be simplified outwards


def test_the_clearance_between_two_squares() -> None:
    """Two squares 3.3 mm apart may lie, 2.9 mm apart they may not."""
    a, b = item("a", rectangle(50, 50)), item("b", rectangle(50, 50))
    bed = Clearance([a, b], square_bed(), 3.0)
    bed.lay("a", Place(10.0, 10.0, 0.0))
    assert bed.may_lie("b", Place(63.0 + 2 * SIMPLER_MM, 10.0, 0.0))
    assert not bed.may_lie("b", Place(62.9, 10.0, 0.0))
    assert not bed.may_lie("b", Place(10.0, 10.0, 0.0))


def test_the_margin_is_kept_exactly() -> None:
    """4 mm from the edge is right, 3.99 mm is not; the same at the far corner."""
    bed = Clearance([item("a", rectangle(50, 30))], square_bed(), 3.0)
    assert bed.may_lie("a", Place(4.0, 4.0, 0.0))
    assert not bed.may_lie("a", Place(3.99, 4.0, 0.0))
    assert bed.may_lie("a", Place(166.0, 186.0, 0.0))
    assert not bed.may_lie("a", Place(166.0, 186.01, 0.0))


def test_a_turn_is_about_the_origin_of_the_piece() -> None:
    """Turned by 90 degrees, a 50 x 30 piece at x = 34 reaches back to x = 4."""
    bed = Clearance([item("a", rectangle(50, 30))], square_bed(), 3.0)
    assert bed.may_lie("a", Place(34.0, 4.0, 90.0))
    assert not bed.may_lie("a", Place(33.9, 4.0, 90.0))


def test_a_turn_off_the_list_is_refused() -> None:
    """A piece locked to turn 0 may not lie at 90."""
    bed = Clearance([item("a", rectangle(50, 30), turns=(0.0,))], square_bed(), 3.0)
    assert bed.may_lie("a", Place(50.0, 50.0, 0.0))
    assert not bed.may_lie("a", Place(50.0, 50.0, 90.0))


def test_too_tall_is_refused() -> None:
    """A piece above the clear height may lie nowhere."""
    bed = Clearance([item("a", rectangle(50, 30), height=200.5)], square_bed(), 3.0)
    assert not bed.may_lie("a", Place(50.0, 50.0, 0.0))


def test_a_part_inside_a_ring() -> None:
    """A disc of 40 mm lies in a ring of 60 mm inner width unless rings are closed."""
    ring = item("ring", ellipse(70, 70), holes=(ellipse(60, 60),))
    disc = item("disc", ellipse(40, 40))
    for inside in (True, False):
        bed = Clearance([ring, disc], square_bed(), 3.0, inside_rings=inside)
        bed.lay("ring", Place(50.0, 50.0, 0.0))
        assert bed.may_lie("disc", Place(65.0, 65.0, 0.0)) is inside
        assert not bed.may_lie("disc", Place(57.0, 65.0, 0.0))
        bed.lift("ring")
        assert bed.may_lie("disc", Place(57.0, 65.0, 0.0))


@pytest.mark.parametrize("kind", ["round", "keep-out", "notch"])
def test_yes_and_no_agree_with_the_slow_check(kind: str) -> None:
    """On 400 random places per bed a yes is never wrong, and a no only within the simplification."""
    corner = ((0.0, 0.0), (60.0, 0.0), (30.0, 50.0), (0.0, 50.0))
    notch = ((0, 0), (100, 0), (100, 60), (140, 60), (140, 0), (240, 0), (240, 240), (0, 240))
    bed = {
        "round": round_bed(240.0),
        "keep-out": square_bed(240.0, keep_outs=(corner,)),
        "notch": BedKind("notch", Bed("polygon", 240.0, 240.0, outline=notch), 200.0),
    }[kind]
    outline = ((0, 0), (70, 0), (70, 20), (20, 20), (20, 60), (0, 60))
    items = [item("a", outline), item("b", ellipse(60, 40), holes=(ellipse(50, 30),))]
    oracle = Clearance(items, bed, 3.0)
    rng = np.random.default_rng(7)
    first = Place(150.0, 120.0, 20.0)
    oracle.lay("b", first)
    lying = lay(items[1], first.x_mm, first.y_mm, first.turn_deg)
    yes = 0
    for x, y, turn in rng.uniform((0, 0, 0), (240, 240, 360), (400, 3)):
        said = oracle.may_lie("a", Place(x, y, turn))
        tried = FilledBed(bed, (lay(items[0], x, y, turn), lying), 0.0)
        if said:
            yes += 1
            assert verify_beds([tried], items, 3.0) == ()
        else:
            assert verify_beds([tried], items, 3.0 + 4 * SIMPLER_MM) != () or _near_edge(tried)
    assert 20 < yes < 380


def _near_edge(bed: FilledBed) -> bool:
    """Whether the bed breaks its rules once the margin is wider by the simplification."""
    wide = replace(bed.kind.bed, margin_mm=bed.kind.bed.margin_mm + 2 * SIMPLER_MM)
    kind = replace(bed.kind, bed=wide)
    return bool(wide.keep_outs) or any(
        not _ground(kind).covers(Polygon(placed.outline_mm)) for placed in bed.placed
    )


def _ground(kind: BedKind) -> Polygon:
    """The bed less its margin, by the polygon library."""
    bed = kind.bed
    if bed.shape == "round":
        return Point(bed.width_mm / 2, bed.width_mm / 2).buffer(bed.width_mm / 2 - bed.margin_mm, 64)
    whole = Polygon(bed.outline) if bed.outline else box(0, 0, bed.width_mm, bed.depth_mm)
    return whole.buffer(-bed.margin_mm)
