"""Boxes on beds that are no plain rectangle: inside, apart, and to the front."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from planner.model.batch import Placed
from planner.model.printer import Bed
from planner.nesting.boxes.box_raster import _bare_sums, _ground, _sums, fill_odd_bed
from planner.nesting.problem.box import Box, boxed
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind
from tests.unit.nesting.shapes import item, rectangle, round_bed, square_bed

CELL = 212.0 / 160.0  # of a bed of 220 mm less margins: places are whole cells


def boxes(*sizes: tuple[float, float], reach: float = 1.5) -> list[Box]:
    """Rectangles that may lie both ways."""
    return [boxed(item(f"p{n}", rectangle(*size), turns=(0.0, 90.0)), reach) for n, size in enumerate(sizes)]


def shapes(placed: list[Placed]) -> list[shapely.Polygon]:
    return [shapely.Polygon(p.outline_mm) for p in placed]


def bed_with(*keep_outs: tuple[tuple[float, float], ...]) -> BedKind:
    return square_bed(keep_outs=keep_outs)


def test_the_first_box_lies_at_the_front_left() -> None:
    """A keep-out at the back leaves the corner at the margin free; depth before width decides the turn."""
    kind = bed_with(rectangle(50.0, 50.0, 170.0, 170.0))
    (lone,) = fill_odd_bed(boxes((30.0, 80.0)), kind)
    assert shapes([lone])[0].bounds == pytest.approx((4.0, 4.0, 84.0, 34.0), abs=CELL + 1e-6)
    assert lone.turn_deg == 90.0


def test_a_keep_out_in_the_corner_is_walked_round() -> None:
    """The box goes to the right of the keep-out, as near to it as whole cells allow."""
    kind = bed_with(rectangle(44.0, 60.0))
    (lone,) = fill_odd_bed(boxes((40.0, 40.0)), kind)
    x0, y0, _, _ = shapes([lone])[0].bounds
    assert 4.0 <= y0 < 4.0 + 2.0 * CELL
    assert 44.0 - 1e-9 <= x0 < 44.0 + 2.0 * CELL


def test_larger_boxes_come_first_and_each_lies_once() -> None:
    """Of a large and a small box the large one takes the corner, whatever the order of the list."""
    kind = bed_with(rectangle(20.0, 20.0, 190.0, 190.0))
    for order in (((10.0, 10.0), (60.0, 60.0)), ((60.0, 60.0), (10.0, 10.0))):
        made = fill_odd_bed(boxes(*order), kind)
        by_area = sorted(shapes(made), key=lambda shape: -shape.area)
        assert len(made) == 2
        assert by_area[0].bounds[:2] == pytest.approx((4.0, 4.0), abs=CELL + 1e-6)
        assert by_area[0].distance(by_area[1]) >= 3.0 - 1e-9


def test_to_the_edge_no_strip_is_lost() -> None:
    """A piece as wide as the ground lies beside a keep-out: 212 mm on 212 mm, and not 212.1 mm."""
    kind = bed_with(rectangle(50.0, 50.0, 170.0, 170.0))
    spar = boxed(item("spar", rectangle(212.0, 100.0), turns=(0.0,)), 0.0)
    (lone,) = fill_odd_bed([spar], kind, to_the_edge=True)
    assert shapes([lone])[0].bounds == pytest.approx((4.0, 4.0, 216.0, 104.0))
    longer = boxed(item("spar", rectangle(212.1, 100.0), turns=(0.0,)), 0.0)
    assert fill_odd_bed([longer], kind, to_the_edge=True) == []


@pytest.mark.parametrize("edge", [49.5, 50.3])
@pytest.mark.parametrize("to_the_edge", [True, False])
def test_a_cell_that_a_keep_out_cuts_is_not_free(to_the_edge: bool, edge: float) -> None:
    """Either side of the middle of a cell of 49.05 to 50.375: what spans it begins behind that cell."""
    low = boxed(item("low", rectangle(205.0, 60.0), turns=(0.0,)), 0.0)
    (lone,) = fill_odd_bed([low], bed_with(rectangle(120.0, edge)), to_the_edge=to_the_edge)
    assert edge - 1e-9 <= shapes([lone])[0].bounds[1] < edge + 2.0 * CELL
    tall = boxed(item("tall", rectangle(60.0, 205.0), turns=(0.0,)), 0.0)
    (lone,) = fill_odd_bed([tall], bed_with(rectangle(edge, 120.0)), to_the_edge=to_the_edge)
    assert edge - 1e-9 <= shapes([lone])[0].bounds[0] < edge + 2.0 * CELL


@pytest.mark.parametrize(("side", "fits"), [(140.0, True), (204.0, True), (207.0, False), (215.0, False)])
def test_a_square_on_a_round_bed(side: float, fits: bool) -> None:
    """A circle of 292 mm holds a square of 206.5 mm; one as near as two cells must still be found."""
    made = fill_odd_bed(boxes((side, side)), round_bed())
    assert bool(made) == fits
    ground = shapely.Point(150.0, 150.0).buffer(146.0, quad_segs=256)
    assert all(ground.buffer(1e-6).contains(shape) for shape in shapes(made))
    assert 2.0 * 146.0 / math.sqrt(2.0) == pytest.approx(206.5, abs=0.05)


def test_a_bed_without_room_takes_nothing() -> None:
    """A cross of keep-outs leaves four squares of 101 mm: none for one of 110 mm, four for 95 mm."""
    kind = bed_with(rectangle(10.0, 220.0, 105.0, 0.0), rectangle(220.0, 10.0, 0.0, 105.0))
    assert fill_odd_bed(boxes((110.0, 110.0)), kind) == []
    made = fill_odd_bed(boxes(*[(95.0, 95.0)] * 5), kind)
    assert len(made) == 4
    assert len({p.piece for p in made}) == 4


@settings(max_examples=3, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.floats(5.0, 120.0), st.floats(5.0, 120.0)), min_size=1, max_size=14),
    reach=st.floats(0.0, 6.0),
    corner=st.tuples(st.floats(0.0, 180.0), st.floats(0.0, 180.0)),
    side=st.floats(5.0, 40.0),
    to_the_edge=st.booleans(),
)
def test_every_bed_holds_against_the_polygon_library(
    sizes: list[tuple[float, float]],
    reach: float,
    corner: tuple[float, float],
    side: float,
    to_the_edge: bool,
) -> None:
    """On polygon, round and blocked beds: inside, off the keep-out, twice the reach apart."""
    keep = rectangle(side, side, *corner)
    hexagon = tuple(
        (110.0 + 110.0 * math.cos(k * math.pi / 3), 110.0 + 95.0 * math.sin(k * math.pi / 3))
        for k in range(6)
    )
    for bed in (
        Bed("rectangle", 220.0, 220.0, keep_outs=(keep,)),
        Bed("round", 220.0, 220.0, keep_outs=(keep,)),
        Bed("polygon", 220.0, 220.0, hexagon),
    ):
        edge = {
            "rectangle": shapely.box(0.0, 0.0, 220.0, 220.0),
            "round": shapely.Point(110.0, 110.0).buffer(110.0, quad_segs=256),
            "polygon": shapely.Polygon(hexagon),
        }[bed.shape]
        made = fill_odd_bed(boxes(*sizes, reach=reach), BedKind("odd", bed, 100.0), to_the_edge=to_the_edge)
        lying = shapes(made)
        ground = edge.buffer(-4.0, quad_segs=64).buffer(1e-3)
        assert all(ground.contains(shape) for shape in lying)
        if bed.keep_outs:
            assert all(shape.intersection(shapely.Polygon(keep)).area < 1e-6 for shape in lying)
        for one, other in combinations(lying, 2):
            (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = one.bounds, other.bounds
            assert max(bx0 - ax1, ax0 - bx1, by0 - ay1, ay0 - by1) >= 2.0 * reach - 1e-6
        assert len({p.piece for p in made}) == len(made)


def _plain(bed: Bed, to_the_edge: bool) -> NDArray[np.bool_]:
    """Every cell against every edge of the ground, by the polygon library."""
    ground = free_region(bed)
    x0, y0, x1, y1 = ground.bounds
    _, cell, _ = _ground(bed, to_the_edge)
    xs = x0 + (np.arange(int((x1 - x0) / cell + 1e-9)) + 0.5) * cell
    ys = y0 + (np.arange(int((y1 - y0) / cell + 1e-9)) + 0.5) * cell
    x, y = np.meshgrid(xs, ys)
    whole = shapely.union_all([shapely.Polygon(p.outer, p.holes) for p in ground.patches])
    if to_the_edge:
        half = cell / 2.0 - 1e-7
        return shapely.covers(whole, shapely.box(x - half, y - half, x + half, y + half))
    points = shapely.points(x, y)
    return shapely.covers(whole, points) & (
        shapely.distance(whole.boundary, points) >= cell / np.sqrt(2.0) - 1e-9
    )


@pytest.mark.parametrize("to_the_edge", [False, True])
@pytest.mark.parametrize(
    "kind",
    [
        round_bed(),
        bed_with(rectangle(50.0, 50.0, 170.0, 170.0), rectangle(3.3, 60.0, 100.0, 31.0)),
        bed_with(((40.0, 40.0), (90.0, 61.0), (55.0, 120.0))),
    ],
)
def test_cells_are_free_as_the_polygon_library_says(kind: BedKind, to_the_edge: bool) -> None:
    """Edges are asked of the cells about them alone; the answer is that for all cells and all edges."""
    free, _, _ = _ground(kind.bed, to_the_edge)
    assert (free == _plain(kind.bed, to_the_edge)).all()


def test_a_bare_bed_is_the_same_for_the_next_piece() -> None:
    """Sums of the bare bed are counted once: laying a piece on it leaves them as they were."""
    kind = round_bed()
    first = fill_odd_bed(boxes((80.0, 60.0), (50.0, 40.0)), kind)
    assert fill_odd_bed(boxes((80.0, 60.0), (50.0, 40.0)), kind) == first
    assert (_bare_sums(kind.bed, False) == _sums(~_ground(kind.bed, False)[0])).all()
