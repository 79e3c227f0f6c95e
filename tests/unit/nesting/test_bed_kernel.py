"""How far a shape sticks out of its bed or into what must be kept free, against the polygon library."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.model.printer import Bed
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.separation.bed_kernel import bed_loss
from planner.nesting.separation.place_kernel import pose
from planner.nesting.separation.separate import Table
from planner.nesting.separation.table import shaped, table
from tests.unit.nesting.shapes import ellipse, item, rectangle, round_bed, square_bed
from tests.unit.nesting.tables import asked, outline

WEDGE = item("wedge", ((0.0, 0.0), (70.0, 0.0), (0.0, 40.0)))


def loss(where: Table, x: float, y: float, turn: float = 0.0) -> float:
    """Of the first form on the first kind of bed."""
    forms, grounds, scratch = where.forms, where.grounds, where.scratch
    pose(forms.shape, forms.counts, 0, turn, len(grounds.wall), scratch.shape, scratch.frame)
    return float(
        bed_loss(
            forms.shape, forms.counts, 0, x, y, grounds.bed, grounds.first, grounds.wall, 0,
            scratch.shape, scratch.frame, scratch.edges,
        )
    )  # fmt: skip


def alone(one: Item, kind: BedKind) -> Table:
    return table(shaped(asked([one], kind)), [kind], 1)


def test_a_square_sticks_out_by_the_area_that_does() -> None:
    """Half of 40 x 40 outside: 800 mm2, so 2 sqrt(800) times the side of the grown square."""
    where = alone(item("square", rectangle(40.0, 40.0)), square_bed(margin=0.0))
    assert loss(where, 20.0, 20.0) == 0.0
    assert loss(where, 200.0, 200.0) == 0.0
    size = math.sqrt(
        shapely.Polygon(shaped(asked([item("s", rectangle(40, 40))], square_bed())).shape(0).rings[0]).area
    )
    for x, y in ((0.0, 100.0), (100.0, 220.0), (220.0, 100.0), (100.0, 0.0)):
        assert loss(where, x, y) == pytest.approx(2.0 * math.sqrt(800.0) * size)
    assert loss(where, 0.0, 0.0) == pytest.approx(2.0 * math.sqrt(1200.0) * size)


def test_beyond_the_bed_the_way_back_counts() -> None:
    """Farther out is worse, on every side, so that the search finds home."""
    where = alone(item("square", rectangle(40.0, 40.0)), square_bed(margin=0.0))
    for dx, dy in ((1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)):
        far = [loss(where, 110.0 + dx * d, 110.0 + dy * d) for d in (85.0, 95.0, 120.0, 140.0, 200.0, 400.0)]
        assert far[0] == 0.0
        assert far[1:] == sorted(far[1:])
        assert len(set(far[1:])) == 5


def test_the_true_hull_counts_on_the_bed_and_not_the_clearance() -> None:
    """The margin is kept to the true outline: 1.5 mm of clearance may stand out."""
    where = alone(item("square", rectangle(40.0, 40.0)), square_bed())
    assert loss(where, 24.0, 24.0) == 0.0
    assert loss(where, 23.999, 24.0) > 0.0


def test_a_round_bed_by_the_farthest_corner() -> None:
    """Half a diagonal of 50 fits a radius of 146 up to 96 mm off the middle along that diagonal."""
    where = alone(item("plate", rectangle(80.0, 60.0)), round_bed())
    for d, sits in ((95.99, True), (96.01, False)):
        assert (loss(where, 150.0 + 0.8 * d, 150.0 + 0.6 * d) == 0.0) == sits
        assert (loss(where, 150.0 - 0.8 * d, 150.0 + 0.6 * d) == 0.0) == sits
    assert loss(where, 150.0 + 110.0, 150.0) < loss(where, 150.0 + 130.0, 150.0)


def test_the_loss_in_a_wall_grows_with_its_depth() -> None:
    """A disc that comes from the right into a keep-out of 60 mm."""
    kind = square_bed(keep_outs=(rectangle(60.0, 60.0, 80.0, 80.0),))
    where = alone(item("disc", ellipse(40.0, 40.0)), kind)
    depths = [loss(where, x, 110.0) for x in (161.0, 155.0, 148.0, 140.0, 130.0)]
    assert depths[0] == 0.0
    assert all(a < b for a, b in pairwise(depths))


@pytest.mark.parametrize("side", [20.0, 100.0])
def test_one_inside_the_other_is_in_the_way(side: float) -> None:
    """A piece in the middle of a keep-out and a keep-out in the middle of a piece cross no edge."""
    kind = square_bed(keep_outs=(rectangle(50.0, 50.0, 85.0, 85.0),))
    where = alone(item("square", rectangle(side, side)), kind)
    assert loss(where, 110.0, 110.0) > 0.0


def test_equal_outlines_on_one_another_are_in_the_way() -> None:
    """Edges that lie on edges do not cross; the circles see it."""
    kind = square_bed(keep_outs=(rectangle(50.0, 50.0, 85.0, 85.0),))
    where = alone(item("square", rectangle(50.0, 50.0)), kind)
    assert loss(where, 110.0, 110.0) > 0.0
    assert loss(where, 160.0 + 0.3, 110.0) == 0.0


@settings(max_examples=40, deadline=None)
@given(
    x=st.floats(-20.0, 240.0),
    y=st.floats(-20.0, 240.0),
    turn=st.sampled_from([0.0, 0.4, math.pi / 2, 2.1, math.pi, 4.0]),
    round_one=st.booleans(),
)
def test_nought_exactly_where_the_polygon_library_finds_room(
    x: float, y: float, turn: float, round_one: bool
) -> None:
    """A wedge anywhere, turned anyhow, on a square or a round bed with a keep-out like an arrow."""
    arrow = ((90.0, 90.0), (150.0, 120.0), (90.0, 150.0), (110.0, 120.0))
    bed = Bed("round" if round_one else "rectangle", 220.0, 220.0, keep_outs=(arrow,))
    kind = BedKind("k", bed, 200.0)
    what = shaped(asked([WEDGE], kind))
    where = table(what, [kind], 1)
    ground = (
        shapely.Point(110.0, 110.0).buffer(106.0, quad_segs=512)
        if round_one
        else shapely.box(4.0, 4.0, 216.0, 216.0)
    )
    rim = outline(what, 0, (0, x, y, turn), grown=False)
    true = shapely.Polygon(what.shape(0).hull)
    true = shapely.affinity.translate(
        shapely.affinity.rotate(true, turn, origin=(0, 0), use_radians=True), x, y
    )
    out, into = true.difference(ground).area, rim.intersection(shapely.Polygon(arrow)).area
    if 0.0 < out < 0.05 or 0.0 < into < 0.05:
        return  # within the chords that stand for the circle
    assert (loss(where, x, y, turn) > 0.0) == (out > 0.0 or into > 0.0)
    assert np.isfinite(loss(where, x, y, turn))
