"""Columns of air under flat ceilings, by hand on tables, bridges and steps."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar.regions import region_of
from planner.geometry.sections.air_kernel import held, slices, spans
from planner.geometry.sections.columns import ColumnRule, Columns, columns
from tests.builders import box, cone, joined, moved

Floats = NDArray[np.float64]
CELL = 0.5
RULE = ColumnRule(
    flat_deg=40.0, above_mm=0.3, gap_mm=0.2, rim_mm=0.6, widening=0.0, late_mm=0.0, from_ground=False
)


def table(height: float = 6.0) -> TriangleMesh:
    """A plate of 20 x 10 x 2 mm on a foot of 4 mm at its left end; 16 x 10 mm hang free."""
    return joined(box(4.0, 10.0, height), moved(box(20.0, 10.0, 2.0), z=height))


def air(
    mesh: TriangleMesh, nx: int, ny: int, *, flat_deg: float = 40.0
) -> list[list[tuple[float, float, bool]]]:
    """Floor, ceiling and flatness of the spans of every cell."""
    starts, floor, ceiling, flat = spans(
        mesh.triangles,
        np.ascontiguousarray(mesh.bounds[0]),
        CELL,
        nx,
        ny,
        float(np.cos(np.radians(flat_deg))),
        0.3,
    )
    rows = [(float(a), float(b), bool(c)) for a, b, c in zip(floor, ceiling, flat, strict=True)]
    return [rows[a:b] for a, b in pairwise(starts)]


def test_the_air_of_a_table_cell_by_cell() -> None:
    """Over the foot only the sky; under the plate 6 mm with a flat ceiling, and the sky above its top."""
    cells = air(table(), 44, 20)
    assert cells[2 * 20 + 5] == [(8.0, np.inf, False)]
    assert cells[20 * 20 + 5] == [(0.0, 6.0, True), (8.0, np.inf, False)]
    assert cells[41 * 20 + 5] == [(0.0, np.inf, False)]
    assert len(cells) == 44 * 20


def test_shelves_one_over_the_other() -> None:
    """Two plates over the ground: air below the lower, and between both."""
    shelves = joined(
        moved(box(10.0, 10.0, 1.0), z=3.0),
        moved(box(10.0, 10.0, 1.0), z=9.0),
        box(1.0, 1.0, 0.5, (20.0, 0.0, 0.0)),
    )
    assert air(shelves, 44, 20)[5 * 20 + 5] == [(0.0, 3.0, True), (4.0, 9.0, True), (10.0, np.inf, False)]


def test_a_ceiling_that_is_steep_or_low_is_not_flat() -> None:
    """A cone on its tip at 45 degrees; a plate 0.2 mm above the ground."""
    tip = TriangleMesh(cone(20.0, 10.0).triangles[:, ::-1] * np.array([1.0, 1.0, -1.0]))
    steep = air(tip, 40, 40, flat_deg=40.0)[30 * 40 + 20]
    assert [flat for _, _, flat in steep] == [False, False]
    assert air(tip, 40, 40, flat_deg=50.0)[30 * 40 + 20][0][2]
    low = joined(moved(box(10.0, 10.0, 1.0), z=0.2), box(1.0, 1.0, 0.1, (20.0, 0.0, 0.0)))
    assert not air(low, 44, 20)[5 * 20 + 5][0][2]


def test_bodies_that_overlap_have_no_air_between_them() -> None:
    """A box that runs into the plate from below leaves none under it."""
    mesh = joined(table(), moved(box(6.0, 6.0, 3.0), 8.0, 2.0, 4.0))
    assert air(mesh, 44, 20)[20 * 20 + 10] == [(0.0, 4.0, True), (8.0, np.inf, False)]


def test_areas_of_columns_layer_by_layer() -> None:
    """160 mm2 from the ground to 0.2 mm below the ceiling; the topmost 0.6 mm of it are the rim."""
    found = columns(table(), RULE)
    mids = (np.arange(40) + 0.5) * 0.2
    areas, left = found.areas(mids)
    full = areas[0, 0]
    assert full == pytest.approx(160.0, rel=0.02)
    assert areas[:, 0].tolist() == [full if z < 5.8 else 0.0 for z in mids]
    assert areas[:, 1].tolist() == [full if 5.2 <= z < 5.8 else 0.0 for z in mids]
    assert left == 0.0


def test_columns_that_would_stand_on_the_part() -> None:
    """A lid over a floor: the column begins a gap above it, or is left out where the ground is asked for."""
    mesh = joined(box(10.0, 10.0, 2.0), moved(box(10.0, 10.0, 1.0), z=6.0))
    mids = (np.arange(35) + 0.5) * 0.2
    areas, left = columns(mesh, RULE).areas(mids)
    assert areas[:, 0].tolist() == [areas[15, 0] if 2.2 <= z < 5.8 else 0.0 for z in mids]
    assert areas[15, 0] == pytest.approx(100.0, rel=0.05)
    assert left == 0.0
    ground = columns(mesh, ColumnRule(40.0, 0.3, 0.2, 0.6, 0.0, 0.0, from_ground=True))
    areas, left = ground.areas(mids)
    assert areas.max() == 0.0
    assert left == pytest.approx(100.0, rel=0.05)


def test_held_of_one_cell_by_hand() -> None:
    """A ceiling at 1 mm with a gap of 0.2 and a rim of 0.3; a cell of 2 x 2 mm."""
    starts = np.array([0, 1], dtype=np.int64)
    mids = np.array([0.1, 0.3, 0.5, 0.7, 0.9])
    areas, left = held(starts, np.array([0.0]), np.array([1.0]), np.array([True]), mids, 2.0, 0.2, 0.3, False)
    assert areas.tolist() == [[4.0, 0.0], [4.0, 0.0], [4.0, 4.0], [4.0, 4.0], [0.0, 0.0]]
    assert left == 0.0
    areas, left = held(starts, np.array([0.4]), np.array([1.0]), np.array([True]), mids, 2.0, 0.2, 0.3, True)
    assert (areas.max(), left) == (0.0, 4.0)


def made(found: Columns, levels: list[float]) -> list[tuple[shapely.Geometry, shapely.Geometry]]:
    whole, rims = found.outlines(np.array(levels))
    return [(region_of(whole.section(q), 0.0), region_of(rims.section(q), 0.0)) for q in range(len(levels))]


def test_outlines_stand_where_the_air_is() -> None:
    """A rectangle of 16 x 10 mm from x = 4 on; only near its top it is all rim; above it there is nothing."""
    (low, no_rim), (high, rim), (none, _) = made(columns(table(), RULE), [1.0, 5.5, 5.9])
    wanted = shapely.box(4.0, 0.0, 20.0, 10.0)
    assert low.symmetric_difference(wanted).area < 0.5 * wanted.length * 0.5
    assert no_rim.is_empty
    assert rim.area == pytest.approx(high.area)
    assert none.is_empty


def test_columns_widen_downwards_from_some_depth_on() -> None:
    """Half a mm a mm, from 1 mm under the top on: 2 mm wider all round 5 mm down, never through the foot."""
    rule = ColumnRule(40.0, 0.3, 0.2, 0.6, widening=0.5, late_mm=1.0, from_ground=False)
    found = columns(table(), rule)
    (low, _), (mid, _), (top, _) = made(found, [0.8, 2.8, 5.0])
    assert top.bounds == pytest.approx((4.0, 0.0, 20.0, 10.0), abs=0.5)
    assert mid.bounds[1:] == pytest.approx((-1.0, 21.0, 11.0), abs=0.6)
    assert low.bounds[1:] == pytest.approx((-2.0, 22.0, 12.0), abs=0.6)
    foot = shapely.box(0.3, 0.3, 3.7, 9.7)
    assert low.intersection(foot).area < 0.5
    assert found.low[0] <= -0.5 * 8.0


def test_slices_keep_the_levels_apart() -> None:
    """Marks 0, 1 and 2 of a strip of three cells: no ceiling, one at 3 mm, the sky over a floor of 1 mm."""
    starts = np.array([0, 1, 3, 4], dtype=np.int64)
    floor, ceiling = np.array([0.0, 0.0, 4.0, 1.0]), np.array([np.inf, 3.0, np.inf, np.inf])
    flat = np.array([False, True, False, False])
    levels = np.array([0.5, 2.0, 2.6, 2.9, 5.0])
    marks = slices(starts, floor, ceiling, flat, 3, 1, levels, 1.0, 0.2, 0.5, False, 0.0, 0.0)
    assert marks.tolist() == [[0, 1, 0], [0, 1, 0], [0, 2, 0], [0, 0, 0], [0, 0, 0]]
    wide = slices(starts, floor, ceiling, flat, 3, 1, levels, 1.0, 0.2, 0.5, False, 1.0, 0.0)
    assert wide[0].tolist() == [1, 1, 0]  # the floor of 1 mm stops it on the right
    assert wide[2].tolist() == [0, 2, 0]
