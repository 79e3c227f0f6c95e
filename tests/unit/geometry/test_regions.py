"""Regions of rings, their caps, and what falls apart where thin places are lost."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from planner.geometry.planar.polygon import Points, Region
from planner.geometry.planar.regions import (
    beside,
    caps_within,
    measures,
    opened,
    parted,
    region_of,
    shrunk,
)
from planner.geometry.planar.regions import caps as many_caps
from planner.geometry.planar.tears import core_of, is_torn, lost_below, some_lost


def caps(region: Region, apart: float) -> float:
    return float(many_caps(np.array([region]), apart)[0])


SQUARE = shapely.box(0.0, 0.0, 20.0, 20.0)


def ring(x0: float, y0: float, x1: float, y1: float, *, hole: bool = False) -> Points:
    made = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], dtype=float)
    return made[::-1] if hole else made


def test_holes_go_to_the_smallest_ring_round_them() -> None:
    """An island in a hole of a larger one, with a hole of its own."""
    rings = [
        ring(0, 0, 30, 30),
        ring(5, 5, 25, 25, hole=True),
        ring(10, 10, 20, 20),
        ring(12, 12, 18, 18, hole=True),
    ]
    for order in (rings, rings[::-1]):
        made = region_of(order, 0.0)
        assert made.area == pytest.approx(900 - 400 + 100 - 36)
        assert measures(made) == pytest.approx((564.0, 120 + 80 + 40 + 24, 2))
        assert not made.contains(shapely.Point(15.0, 15.0))
        assert made.contains(shapely.Point(11.0, 11.0))


def test_no_ring_no_region() -> None:
    """Nor of one that has two points, or of a hole in nothing."""
    assert region_of([], 0.0).is_empty
    assert region_of([np.array([[0.0, 0.0], [1.0, 1.0]])], 0.0).is_empty
    assert region_of([ring(0, 0, 5, 5, hole=True)], 0.0).is_empty
    assert measures(shapely.Polygon()) == (0.0, 0.0, 0)


def test_fine_points_are_left_out_as_far_as_asked() -> None:
    """A bump of 0.01 mm goes, one of 0.1 mm stays."""
    for bump, corners in ((0.01, 4), (0.1, 5)):
        line = np.array([[0.0, 0.0], [10.0, -bump], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0]])
        made = region_of([line], 0.02)
        assert len(shapely.get_coordinates(made)) - 1 == corners


def test_beside_and_opened_and_shrunk_by_hand() -> None:
    """Half of a square beside the other half; a fin too thin for a disc; a square 3 mm deeper."""
    right = shapely.box(10.0, 0.0, 20.0, 20.0)
    assert beside(SQUARE, right, 0.0).area == pytest.approx(200.0)
    assert beside(SQUARE, right, 2.0).area == pytest.approx(160.0)
    assert beside(SQUARE, shapely.Polygon(), 2.0) is SQUARE
    fin = SQUARE.union(shapely.box(20.0, 9.0, 40.0, 11.0))
    assert opened(fin, 0.9).bounds[2] > 39.0
    assert opened(fin, 1.1).bounds[2] < 21.0
    assert shrunk(SQUARE, 3.0).equals(shapely.box(3.0, 3.0, 17.0, 17.0))
    assert shrunk(SQUARE, 0.0) is SQUARE
    assert shrunk(SQUARE, 11.0).is_empty


def test_parted_covers_all_that_is_deep() -> None:
    """What another region covers and what it does not, together the inner square."""
    inside, rest = parted(SQUARE, shapely.box(-5.0, -5.0, 8.0, 30.0), 2.0)
    assert inside.area == pytest.approx(6.0 * 16.0)
    assert rest.area == pytest.approx(10.0 * 16.0)
    nothing, all_of_it = parted(SQUARE, shapely.Polygon(), 2.0)
    assert nothing.is_empty
    assert all_of_it.area == pytest.approx(256.0)
    assert parted(SQUARE, SQUARE, 12.0)[1].is_empty


def test_caps_of_a_square_by_hand() -> None:
    """Lines at 45 degrees either way, 1 mm apart, lie anywhere: at either tip two sides of 0..sqrt(2) mm.

    A stretch t short of the tip is beyond the last line with a chance of 1 - t: of each side sqrt(2) * 1/2
    mm, so 2 sqrt(2) / 2 a tip, two tips, and the mean over both ways is that of one.
    """
    about = 0.05  # lines are drawn at some places, not at all
    assert caps(SQUARE, 1.0) == pytest.approx(2.0 * math.sqrt(2.0), rel=about)
    assert caps(SQUARE, 0.5) == pytest.approx(math.sqrt(2.0), rel=about)
    moved = shapely.affinity.translate(SQUARE, 77.0, -31.0)
    assert caps(moved, 1.0) == pytest.approx(2.0 * math.sqrt(2.0), rel=about)


def test_sides_along_the_lines_are_beyond_them_with_a_chance() -> None:
    """A diamond of side 10: one way its whole side is beyond the last line always, the other way likewise."""
    diamond = shapely.affinity.rotate(shapely.box(0.0, 0.0, 10.0, 10.0), 45.0)
    # at either end a side of 10 mm, and of the two beside it 1/2 mm each: 2 * (10 + 1)
    assert caps(diamond, 1.0) == pytest.approx(22.0, rel=1e-3)


def test_caps_never_exceed_the_edge() -> None:
    """Of what is lower than the distance of the lines at most all of it is beyond them."""
    tiny = shapely.box(0.0, 0.0, 0.1, 0.1)
    assert 0.0 < caps(tiny, 5.0) <= tiny.length
    assert caps(tiny, 50.0) == pytest.approx(tiny.length, rel=0.02)
    assert caps(shapely.Polygon(), 1.0) == 0.0


def test_the_sums_are_those_of_the_rings() -> None:
    """Two squares far apart have twice the caps; an opening in one adds at most its own edge."""
    one = caps(SQUARE, 1.0)
    two = shapely.union_all([SQUARE, shapely.affinity.translate(SQUARE, 50.0)])
    assert caps(two, 1.0) == pytest.approx(2.0 * one)
    holed = SQUARE.difference(shapely.box(6.0, 6.0, 14.0, 14.0))
    assert one <= caps(holed, 1.0) <= one + 32.0


def test_caps_within_of_rings() -> None:
    """What lies 2 mm deep in a square of 24, by either way; nothing where nothing is as deep."""
    rings = np.concatenate([ring(0, 0, 24, 24), ring(0, 0, 3, 24)])
    starts, plane = np.array([0, 4, 8]), np.array([0, 1, 1, 2])
    for met in (False, True):
        found = caps_within(rings, starts, plane, np.full(3, 2.0), 1.0, np.full(3, met))
        assert found == pytest.approx([caps(SQUARE, 1.0), 0.0, 0.0], rel=0.05)


def dumbbell(neck: float, *, long: float = 10.0) -> Region:
    """Two squares of 10 with a neck between them."""
    return shapely.union_all(
        [
            shapely.box(0, 0, 10, 10),
            shapely.box(10 - 0.1, 5 - neck / 2, 10.1 + long, 5 + neck / 2),
            shapely.box(10 + long, 0, 20 + long, 10),
        ]
    )


@pytest.mark.parametrize(("neck", "torn"), [(1.2, False), (0.9, False), (0.7, True), (0.3, True)])
def test_a_neck_that_is_lost_parts_what_hung_together(neck: float, torn: bool) -> None:
    """The least bead is 0.8 mm wide: half of it is the depth of the core."""
    region = dumbbell(neck)
    assert is_torn(region, core_of(region, 0.4), 0.4) == torn


def test_a_short_gap_closes_by_itself() -> None:
    """A neck of 0.8 mm between the squares leaves ends less than 1 mm apart."""
    region = dumbbell(0.3, long=0.8)
    assert not is_torn(region, core_of(region, 0.4), 0.4)
    region = dumbbell(0.3, long=2.5)
    assert is_torn(region, core_of(region, 0.4), 0.4)


def test_a_thin_skin_opens_a_hole() -> None:
    """A frame whose right wall is 0.3 mm: its hole runs out. A hole that stays closed is no tear."""
    frame = shapely.box(0, 0, 20, 20).difference(shapely.box(2, 2, 18, 18))
    thin = shapely.box(0, 0, 20, 20).difference(shapely.box(2, 2, 19.7, 18))
    assert not is_torn(frame, core_of(frame, 0.4), 0.4)
    assert is_torn(thin, core_of(thin, 0.4), 0.4)
    two = (
        shapely.box(0, 0, 30, 20)
        .difference(shapely.box(2, 2, 14.9, 18))
        .difference(shapely.box(15.1, 2, 28, 18))
    )
    assert is_torn(two, core_of(two, 0.4), 0.4)


def test_what_leaves_nothing_at_all_is_lost_and_not_torn() -> None:
    """A region that is thin everywhere has no core."""
    strip = shapely.box(0, 0, 30, 0.5)
    assert not is_torn(strip, core_of(strip, 0.4), 0.4)
    assert some_lost(strip, core_of(strip, 0.4))
    both = strip.union(shapely.box(0, 10, 30, 20))
    assert some_lost(both, core_of(both, 0.4))
    assert not some_lost(SQUARE, core_of(SQUARE, 0.4))


@pytest.mark.parametrize(
    ("upper", "hangs"),
    [
        (shapely.box(0, 0, 30, 5), True),  # stands on the strip alone
        (shapely.box(0, 0, 30, 12), False),  # on the block, too
        (shapely.box(0, 0, 30, 0.5), False),  # as thin as what is lost: it is not printed either
        (shapely.box(50, 50, 60, 60), False),  # stands on nothing that was there
    ],
)
def test_what_stands_on_what_is_lost(upper: Region, hangs: bool) -> None:
    """A strip of 0.5 mm beside a block."""
    lower = shapely.box(0, 0, 30, 0.5).union(shapely.box(0, 10, 30, 20))
    assert lost_below(upper, lower, core_of(lower, 0.4), 0.4) == hangs
