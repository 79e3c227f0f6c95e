"""Beds as flat arrays: box, circle, what stands in the way; and the room that grown pieces have."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from planner.model.printer import Bed
from planner.nesting.problem.array_layout import (
    WALL_MEASURE,
    WPR,
    WPX,
    WPY,
    WX,
    WY,
)
from planner.nesting.problem.containers import packed_grounds, room_for_grown
from planner.nesting.problem.item import BedKind
from planner.nesting.problem.state import Grounds
from tests.unit.nesting.shapes import rectangle

PLAIN = BedKind("plain", Bed("rectangle", 200.0, 150.0, margin_mm=5.0), 200.0)
ROUND = BedKind("round", Bed("round", 300.0, 300.0, margin_mm=4.0), 200.0)
BLOCKED = BedKind("blocked", Bed(margin_mm=0.0, keep_outs=(rectangle(30.0, 40.0, 10.0, 20.0),)), 200.0)
HEXAGON = tuple(
    (110.0 + 110.0 * math.cos(k * math.pi / 3), 110.0 + 95.0 * math.sin(k * math.pi / 3)) for k in range(6)
)


def walls(grounds: Grounds, kind: int) -> list[shapely.Polygon]:
    made = []
    for wall in grounds.wall[grounds.first[kind] : grounds.first[kind + 1]]:
        corners = int(wall[WALL_MEASURE, 2])
        made.append(shapely.Polygon(wall[WX : WY + 1, :corners].T))
    return made


def test_a_row_for_each_kind_and_a_number_for_each_bed() -> None:
    """Box x0, y0, x1, y1 and circle x, y, r; beds name the row of their kind."""
    grounds = packed_grounds([PLAIN, ROUND], [0, 1, 0])
    assert grounds.kind.tolist() == [0, 1, 0]
    assert grounds.kind.dtype == np.int64
    assert grounds.bed[0] == pytest.approx([5.0, 5.0, 195.0, 145.0, 0.0, 0.0, 0.0])
    assert grounds.bed[1] == pytest.approx([4.0, 4.0, 296.0, 296.0, 150.0, 150.0, 146.0])
    assert grounds.first.tolist() == [0, 0, 0]
    assert len(grounds.wall) == 0


def test_a_keep_out_becomes_a_wall_of_its_own_kind() -> None:
    """Its corners, its diameter, the side of the square of its area, and circles inside it."""
    grounds = packed_grounds([PLAIN, BLOCKED], [1])
    assert grounds.first.tolist() == [0, 0, 1]
    (wall,) = walls(grounds, 1)
    assert wall.equals(shapely.Polygon(rectangle(30.0, 40.0, 10.0, 20.0)))
    wide, size, corners, circles = grounds.wall[0, WALL_MEASURE, :4]
    assert (wide, size, corners) == pytest.approx((50.0, math.sqrt(1200.0), 4))
    assert circles >= 2
    for x, y, r in grounds.wall[0, [WPX, WPY, WPR], : int(circles)].T:
        assert wall.buffer(1e-6).contains(shapely.Point(x, y).buffer(r))


def test_what_the_box_of_an_odd_bed_holds_outside_it_is_walled_off() -> None:
    """Box less walls is the ground of the hexagon: four corners are cut away."""
    kind = BedKind("odd", Bed("polygon", 220.0, 220.0, HEXAGON, margin_mm=0.0), 200.0)
    grounds = packed_grounds([kind], [0])
    cut = walls(grounds, 0)
    assert len(cut) == 4
    rest = shapely.box(*grounds.bed[0, :4]).difference(shapely.union_all(cut))
    assert rest.symmetric_difference(shapely.Polygon(HEXAGON)).area < 1e-3
    assert sum(wall.area for wall in cut) == pytest.approx(rest.envelope.area - shapely.Polygon(HEXAGON).area)


def test_walls_of_several_kinds_stand_one_after_another() -> None:
    """Two keep-outs of the first, none of the second, one of the third."""
    two = BedKind(
        "two", Bed(margin_mm=0.0, keep_outs=(rectangle(9, 9, 50, 50), rectangle(9, 9, 99, 9))), 100.0
    )
    grounds = packed_grounds([two, PLAIN, BLOCKED], [2, 1, 0])
    assert grounds.first.tolist() == [0, 2, 2, 3]
    assert [round(wall.area) for k in range(3) for wall in walls(grounds, k)] == [81, 81, 1200]


def test_on_a_round_bed_only_the_keep_outs_are_walls() -> None:
    """The rim is kept by the circle itself."""
    kind = BedKind("round", Bed("round", 300.0, 300.0, keep_outs=(rectangle(20, 20, 140, 140),)), 200.0)
    grounds = packed_grounds([kind], [0])
    assert [wall.area for wall in walls(grounds, 0)] == pytest.approx([400.0])
    assert grounds.bed[0, 6] == pytest.approx(146.0)


@pytest.mark.parametrize("reach", [0.5, 1.5, 15.0])
def test_room_for_grown_is_the_ground_grown_with_round_corners(reach: float) -> None:
    """w d + 2 r (w + d) + pi r2, and a little more for chords of the arcs, never less."""
    exact = 190.0 * 140.0 + 2.0 * reach * (190.0 + 140.0) + math.pi * reach**2
    assert exact - 1e-6 <= room_for_grown(PLAIN.bed, reach) <= exact * 1.001


def test_room_for_grown_without_growth_is_the_ground() -> None:
    """Less its keep-out, which growth makes smaller from all sides."""
    assert room_for_grown(BLOCKED.bed, 0.0) == pytest.approx(220.0**2 - 1200.0)
    grown = room_for_grown(BLOCKED.bed, 5.0)
    outside = 220.0**2 + 4 * 5.0 * 220.0 + math.pi * 25.0
    assert grown == pytest.approx(outside - 20.0 * 30.0, rel=1e-3)  # the opening of 30 x 40 by 5 mm a side
