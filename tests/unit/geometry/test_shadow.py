"""The outline of a mesh seen from above: cells, their outlines, and the ring drawn round them."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar.outline import MOST_POINTS, drawn_from, outward, shadow
from planner.geometry.planar.shadow_kernel import outlines, shade
from tests.builders import aerofoil, aerofoil_slab, box, circle, cone, cylinder, joined, moved, tube

Floats = NDArray[np.float64]
Cells = NDArray[np.bool_]


def grid_of(cells: Cells) -> NDArray[np.uint64]:
    """Bits of cells, 64 to a word, lowest first."""
    rows, columns = cells.shape
    words = np.zeros((rows, (columns + 63) // 64), dtype=np.uint64)
    for j, i in zip(*np.nonzero(cells), strict=True):
        words[j, i >> 6] |= np.uint64(1) << np.uint64(i & 63)
    return words


def cells_of(grid: NDArray[np.uint64], columns: int) -> Cells:
    i = np.arange(columns, dtype=np.uint64)
    return (grid[:, (i >> np.uint64(6)).astype(int)] >> (i & np.uint64(63))) & np.uint64(1) != 0


def drawn(cells: Cells) -> list[tuple[Floats, float]]:
    points, starts, areas = outlines(grid_of(cells))
    return [
        (points[a:b], float(size)) for (a, b), size in zip(itertools.pairwise(starts), areas, strict=True)
    ]


def shaded(mesh: TriangleMesh, cell: float, *, every: bool = True) -> Cells:
    low = np.ascontiguousarray(mesh.bounds[0])
    rows, columns = (int(mesh.extents[axis] / cell) + 4 for axis in (1, 0))
    return cells_of(shade(mesh.triangles, low, cell, rows, columns, every), columns)


def test_the_outline_of_one_cell() -> None:
    """Counter-clockwise about the cell in column 3 of row 2, area one."""
    cells = np.zeros((5, 70), dtype=bool)
    cells[2, 3] = True
    ((ring, size),) = drawn(cells)
    assert size == 1.0
    assert sorted(map(tuple, ring)) == [(3.0, 2.0), (3.0, 3.0), (4.0, 2.0), (4.0, 3.0)]
    assert shapely.LinearRing(ring).is_ccw


def test_an_opening_has_an_outline_of_its_own() -> None:
    """A frame of 5 x 4 round 3 x 2 free cells, across the border of two words."""
    cells = np.zeros((8, 130), dtype=bool)
    cells[2:6, 61:66] = True
    cells[3:5, 62:65] = False
    (outer, whole), (hole, gone) = sorted(drawn(cells), key=lambda one: -one[1])
    assert (whole, gone) == (20.0, -6.0)
    assert len(outer) == len(hole) == 4
    assert not shapely.LinearRing(hole).is_ccw


def test_cells_that_touch_at_a_corner_belong_together() -> None:
    cells = np.zeros((6, 10), dtype=bool)
    cells[2, 2] = cells[3, 3] = True
    assert [size for _, size in drawn(cells)] == [2.0]


@settings(max_examples=8, deadline=None)
@given(st.integers(0, 10_000), st.floats(0.1, 0.9))
def test_any_cells_are_those_that_their_outlines_hold(seed: int, share: float) -> None:
    """Outer rings less openings, even-odd, give back the cells; the areas add up."""
    rng = np.random.default_rng(seed)
    cells = np.zeros((14, 80), dtype=bool)
    cells[1:-1, 1:-1] = rng.random((12, 78)) < share
    rings = drawn(cells)
    assert sum(size for _, size in rings) == cells.sum()
    middles = np.stack(np.meshgrid(np.arange(80) + 0.5, np.arange(14) + 0.5), axis=-1)
    odd = np.zeros(cells.shape, dtype=bool)
    for ring, size in rings:
        assert (
            shapely.Polygon(ring).area == pytest.approx(abs(size)) or not shapely.LinearRing(ring).is_simple
        )
        odd ^= _even_odd(middles, ring)
    assert (odd == cells).all()


def _even_odd(at: Floats, ring: Floats) -> Cells:
    inside = np.zeros(at.shape[:2], dtype=bool)
    for (x0, y0), (x1, y1) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        if x0 == x1:
            inside ^= ((y0 > at[..., 1]) != (y1 > at[..., 1])) & (at[..., 0] < x0)
    return inside


def test_room_for_outlines_grows_with_their_number() -> None:
    """More corners than the first room of 8192 points: a chequerboard of single cells."""
    cells = np.zeros((140, 140), dtype=bool)
    cells[2:-2:3, 2:-2:3] = True
    rings = drawn(cells)
    assert len(rings) == int(cells.sum()) > 2048
    assert {size for _, size in rings} == {1.0}


@settings(max_examples=8, deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.0, 9.0), st.floats(0.0, 9.0)), min_size=3, max_size=3, unique=True),
    st.floats(0.1, 1.0),
)
def test_a_facet_marks_the_cells_that_it_touches(corners: list[tuple[float, float]], cell: float) -> None:
    """All cells that the facet meets, and none further than a row beside it."""
    tri = np.array([[(x, y, 0.0) for x, y in corners]])
    mesh = TriangleMesh(tri)
    cells = shaded(mesh, cell)
    low, flat = tri[0].min(axis=0), shapely.Polygon(corners)
    for j, i in itertools.product(range(cells.shape[0]), range(cells.shape[1])):
        x, y = low[0] + (i - 1) * cell, low[1] + (j - 1) * cell
        square = shapely.box(x, y, x + cell, y + cell)
        if square.intersection(flat).area > 1e-9:
            assert cells[j, i]
        elif cells[j, i]:
            assert square.distance(flat) < 1e-6


def test_facets_that_look_down_cast_their_shadow_only_where_asked() -> None:
    """Of a box without its lid the floor looks down: nothing looks up."""
    lidless = TriangleMesh(box(4.0, 3.0, 2.0).triangles[:2])
    assert not shaded(lidless, 0.5, every=False).any()
    assert shaded(lidless, 0.5).sum() >= 48


@pytest.mark.parametrize(
    ("mesh", "true"),
    [
        (box(30.0, 20.0, 5.0), shapely.box(0.0, 0.0, 30.0, 20.0)),
        (cylinder(40.0, 10.0), shapely.Polygon(circle(40.0) + 20.0)),
        (cone(25.0, 30.0), shapely.Polygon(circle(25.0) + 12.5)),
        (aerofoil_slab(120.0, 50.0), shapely.Polygon(aerofoil(120.0) - aerofoil(120.0).min(axis=0))),
    ],
    ids=["box", "cylinder", "cone", "wing"],
)
def test_the_shadow_holds_the_true_one_closely(mesh: TriangleMesh, true: shapely.Polygon) -> None:
    """Outwards, by at most 0.15 mm; measured from the lowest corner, wherever the mesh stands."""
    found = shadow(moved(mesh, 100.0, -40.0, 3.0))
    outer = shapely.Polygon(found.outer)
    assert shapely.LinearRing(found.outer).is_ccw
    assert outer.buffer(1e-6).contains(true)
    assert true.buffer(0.16, join_style="mitre").contains(outer)
    assert len(found.outer) <= MOST_POINTS
    assert found.holes == ()


def test_the_opening_of_a_tube_shrinks() -> None:
    """The hole lies inside the true one; without closed facets no opening is believed."""
    found = shadow(tube(40.0, 30.0, 10.0))
    (hole,) = found.holes
    true = shapely.Polygon(circle(30.0) + 20.0)
    assert not shapely.LinearRing(hole).is_ccw
    assert true.buffer(1e-6).contains(shapely.Polygon(hole))
    assert shapely.Polygon(hole).area > true.area - 0.2 * true.length
    assert shadow(tube(40.0, 30.0, 10.0), closed=False).holes == ()
    assert shadow(tube(8.0, 5.0, 3.0)).holes == ()  # 19.6 mm2 are below the least of 25


def test_bodies_apart_are_held_by_their_hull_and_a_brim_joins_them() -> None:
    """Two blocks 20 mm apart; rings about both that meet make one outline that is no hull."""
    two = joined(box(10.0, 10.0, 5.0), moved(box(10.0, 10.0, 5.0), 30.0, 30.0))
    hull = shapely.Polygon(shadow(two).outer)
    assert hull.covers(shapely.box(0, 0, 10, 10).union(shapely.box(30, 30, 40, 40)).convex_hull)
    bridge = np.array([[5.0, 5.0], [35.0, 5.0], [35.0, 35.0], [32.0, 35.0], [32.0, 8.0], [5.0, 8.0]])
    joined_up = shapely.Polygon(shadow(two, also=[bridge]).outer)
    wanted = shapely.union_all(
        [shapely.box(0, 0, 10, 10), shapely.box(30, 30, 40, 40), shapely.Polygon(bridge)]
    )
    assert joined_up.buffer(1e-6).contains(wanted)
    assert joined_up.area < wanted.area + 0.2 * wanted.length


def test_a_flat_sheet_on_edge_still_has_a_shadow() -> None:
    """Nothing looks up: the facets that stand upright are marked."""
    sheet = TriangleMesh(
        np.array([[[0, 0, 0], [20, 0, 0], [20, 0, 9]], [[0, 0, 0], [20, 0, 9], [0, 0, 9]]], dtype=float)
    )
    x0, _, x1, _ = shapely.Polygon(shadow(sheet).outer).bounds
    assert x1 - x0 == pytest.approx(20.0, abs=0.4)


def test_sides_moved_outward_by_hand() -> None:
    """A square by 1: mitred corners; clockwise it shrinks; a spike of 20 degrees is cut square."""
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    assert outward(square, 1.0).tolist() == [[-1.0, -1.0], [11.0, -1.0], [11.0, 11.0], [-1.0, 11.0]]
    assert outward(square[::-1], 1.0).tolist() == [[1.0, 9.0], [9.0, 9.0], [9.0, 1.0], [1.0, 1.0]]
    spike = np.array([[0.0, 0.0], [50.0, 8.0], [0.0, 16.0]])
    moved_out = outward(spike, 1.0)
    assert len(moved_out) == 4
    grown = shapely.Polygon(moved_out)
    assert grown.contains(shapely.Polygon(spike).buffer(0.999, quad_segs=32, join_style="bevel"))
    assert moved_out[:, 0].max() < 50.0 + 2.0


def test_a_wavy_ring_is_drawn_by_few_points_round_it() -> None:
    """A gear of 400 corners: at most 200 remain; as an opening it is drawn inside."""
    angle = np.arange(400) * (2.0 * np.pi / 400)
    radius = 50.0 + 0.4 * (np.arange(400) % 2)
    gear = radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    outer = drawn_from(gear, 0.05)
    assert len(outer) <= MOST_POINTS
    assert shapely.Polygon(outer).buffer(1e-9).contains(shapely.Polygon(gear))
    assert shapely.Polygon(outer).area < 1.04 * shapely.Polygon(gear).area
    inner = drawn_from(gear[::-1], 0.05)
    assert shapely.Polygon(gear).buffer(1e-9).contains(shapely.Polygon(inner))
    assert shapely.Polygon(inner).area > 0.95 * shapely.Polygon(gear).area
    slit = np.array([[0.0, 0.0], [0.0, 0.05], [30.0, 0.05], [30.0, 0.0]])
    assert len(drawn_from(slit, 0.05)) == 0
