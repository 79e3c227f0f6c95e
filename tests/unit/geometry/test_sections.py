"""Horizontal sections of a mesh: measures by closed forms and the mesh library, rings of some of them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.sections import section_kernel as kernel
from planner.geometry.sections.section import Rings, Sections, merged, sections
from tests.builders import (
    aerofoil,
    aerofoil_slab,
    box,
    circle,
    cone,
    cylinder,
    frustum,
    inward,
    joined,
    moved,
    sphere,
    tube,
    without,
)

Floats = NDArray[np.float64]
STEP = 0.2


def mids(mesh: TriangleMesh, step: float = STEP) -> Floats:
    n = int(mesh.extents[2] / step)
    return (np.arange(n) + 0.5) * step


def cut(mesh: TriangleMesh, step: float = STEP, **more: float) -> Sections:
    return sections(mesh, mids(mesh, step), step, **more)


def test_a_cone_by_its_formula() -> None:
    """Area and outline shrink with the square and the height; both middles stay on the axis."""
    found = cut(moved(cone(40.0, 30.0), 7.0, -3.0, 5.0))
    share = 1.0 - found.mids / 30.0
    base = shapely.Polygon(circle(40.0))
    assert found.area == pytest.approx(base.area * share**2)
    assert found.perimeter == pytest.approx(base.length * share)
    assert found.middle == pytest.approx(np.full((len(share), 2), 20.0))
    assert found.line_middle == pytest.approx(np.full((len(share), 2), 20.0))
    assert found.volume == pytest.approx(base.area * 10.0)
    assert found.watertight
    assert not found.torn.any()


def test_a_wing_panel_by_the_polygon_library() -> None:
    """A tapered panel: outlines in between; the middle of the area is not that of the outline."""
    found = cut(aerofoil_slab(100.0, 30.0, tip_chord=60.0), 5.0)
    low = aerofoil(100.0).min(axis=0)
    for k, z in enumerate(found.mids):
        outline = shapely.Polygon(aerofoil(100.0) + z / 30.0 * (aerofoil(60.0) - aerofoil(100.0)) - low)
        assert found.area[k] == pytest.approx(outline.area, rel=2e-3)
        assert found.perimeter[k] == pytest.approx(outline.length, rel=2e-3)
        assert found.middle[k] == pytest.approx(np.array(outline.centroid.coords[0]), abs=0.05)
        assert found.line_middle[k] == pytest.approx(np.array(outline.exterior.centroid.coords[0]), abs=0.05)


def test_totals_are_those_of_the_mesh_library() -> None:
    """Surface and signed volume of a ball with a cavity beside a box; a body inside out counts negative."""
    mesh = joined(sphere(30.0, 3), inward(sphere(10.0, 2)), moved(box(5.0, 6.0, 7.0), 40.0))
    made = trimesh.Trimesh(mesh.triangles.reshape(-1, 3), np.arange(3 * len(mesh.triangles)).reshape(-1, 3))
    found = cut(mesh)
    assert found.surface == pytest.approx(made.area)
    assert found.volume == pytest.approx(made.volume)
    assert (found.area * STEP).sum() == pytest.approx(made.volume, rel=1e-3)
    assert cut(inward(box(5.0, 6.0, 7.0))).volume == pytest.approx(-210.0)
    assert cut(inward(box(5.0, 6.0, 7.0))).area == pytest.approx(np.full(35, -30.0))


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 999), step=st.floats(0.11, 0.9))
def test_the_sum_over_layers_of_a_turned_body(seed: int, step: float) -> None:
    """A box turned anyhow: planes by the mesh library, plane by plane."""
    turn = trimesh.transformations.random_rotation_matrix(np.random.default_rng(seed).random(3))[:3, :3]
    mesh = TriangleMesh(box(9.0, 6.0, 4.0).triangles @ turn.T)
    found = cut(mesh, step)
    made = trimesh.Trimesh(mesh.triangles.reshape(-1, 3), np.arange(36).reshape(-1, 3), process=False)
    made.merge_vertices()
    for k in range(0, len(found.mids), 3):
        lines = trimesh.intersections.mesh_plane(made, (0, 0, 1), (0, 0, found.mids[k] + mesh.bounds[0][2]))
        section = shapely.MultiPoint(lines.reshape(-1, 3)[:, :2]).convex_hull  # the body is convex
        assert found.area[k] == pytest.approx(section.area, abs=1e-6)
        assert found.perimeter[k] == pytest.approx(section.length, abs=1e-6)
        assert found.counts[k] == len(lines)


def test_planes_through_corners_cut_each_facet_once() -> None:
    """Planes exactly at the heights of corners: a corner at the height of a plane lies above it."""
    stack = joined(box(4.0, 4.0, 1.0), moved(box(2.0, 2.0, 1.0), z=1.0))
    found = sections(stack, np.array([0.0, 0.5, 1.0, 1.5, 2.0]), 0.5)
    assert found.area == pytest.approx([0.0, 16.0, 16.0, 4.0, 4.0])
    assert not found.torn.any()


def test_a_missing_facet_tears_the_planes_that_it_crossed() -> None:
    """One side facet of a tall box: the planes across it do not close, and the mesh is not watertight."""
    whole = box(4.0, 4.0, 10.0)
    upright = next(
        k for k, t in enumerate(whole.triangles) if np.ptp(t[:, 2]) == 10.0 and (t[:, 2] == 0.0).sum() == 2
    )
    found = cut(without(whole, [upright]))
    assert found.torn.all()
    assert not found.watertight
    lidless = cut(without(whole, [k for k, t in enumerate(whole.triangles) if (t[:, 2] == 10.0).all()]))
    assert not lidless.torn.any()
    assert not lidless.watertight


def test_upright_sides_make_sections_alike() -> None:
    """A prism on a frustum: its layers are all like its lowest one; slopes are like themselves only."""
    mesh = joined(frustum(30.0, 20.0, 2.0), moved(cylinder(20.0, 4.0), z=2.0))
    found = cut(mesh)
    assert found.like[:10].tolist() == list(range(10))
    assert set(found.like[11:].tolist()) <= {10, 11}
    assert (found.like <= np.arange(len(found.like))).all()
    torn = cut(without(mesh, [0]))
    assert torn.like.tolist() == list(range(len(torn.like)))


def test_runs_are_the_cotangent_of_slopes() -> None:
    """A cone of 45 degrees runs 1 mm a mm, looking up, or down when turned over; upright sides do not."""
    up = cut(cone(20.0, 10.0))
    slope = np.cos(np.pi / 96)  # of the flat sides of the inscribed pyramid
    assert up.runs[1:-1, 0] == pytest.approx(np.full(len(up.runs) - 2, slope), rel=1e-6)
    assert up.runs[1:-1, 1].tolist() == [0.0] * (len(up.runs) - 2)
    down = cut(TriangleMesh(cone(20.0, 10.0).triangles[:, ::-1] * np.array([1.0, 1.0, -1.0])))
    assert down.runs[1:-1, 1] == pytest.approx(up.runs[1:-1, 0])
    assert cut(cylinder(20.0, 10.0)).runs[1:-1].tolist() == [[0.0, 0.0]] * 49
    assert cut(cone(20.0, 10.0), run_floor=1.1).runs[1:-1, 0].max() == 0.0


def test_a_flat_top_runs_without_end_where_it_lies() -> None:
    """Between the last plane and the top, and at the step in the middle."""
    found = cut(joined(box(9.0, 9.0, 2.0), moved(box(3.0, 3.0, 2.0), z=2.0)))
    assert found.runs[10, 0] > 1e6
    assert found.runs[-1, 0] > 1e6
    assert found.runs[0, 1] > 1e6
    assert found.runs[5].tolist() == [0.0, 0.0]


def test_overhang_is_flat_and_in_the_air() -> None:
    """A table of 20 x 10 on a foot of 4 x 10 at its left end: two bodies, so all of its lower side counts."""
    table = joined(box(4.0, 10.0, 6.0), moved(box(20.0, 10.0, 2.0), z=6.0))
    found = cut(table)
    assert found.overhang == pytest.approx(200.0)
    assert found.overhang_at == pytest.approx((10.0, 5.0, 6.0))
    assert cut(box(9.0, 9.0, 9.0)).overhang == 0.0
    lying = TriangleMesh(cone(20.0, 10.0).triangles[:, ::-1] * np.array([1.0, 1.0, -1.0]))
    below = shapely.Polygon(circle(20.0)).area  # slopes count by what they cover of the bed
    assert cut(lying, flat_deg=46.0).overhang == pytest.approx(below)
    assert cut(lying, flat_deg=44.0).overhang == 0.0


def test_rings_of_some_sections_are_those_of_the_polygon_library() -> None:
    """A tube beside a box: outer rings counter-clockwise, the hole clockwise, in the order asked for."""
    found = cut(joined(tube(30.0, 20.0, 4.0), moved(box(5.0, 5.0, 2.0), 20.0)))
    rings = found.rings(np.array([2, 15], dtype=np.int64))
    assert [len(rings.section(q)) for q in (0, 1)] == [3, 2]
    assert rings.outers.tolist() == [2, 1]
    assert rings.rings.tolist() == [3, 2]
    wanted = shapely.Polygon(circle(30.0)).area - shapely.Polygon(circle(20.0)).area
    assert rings.area == pytest.approx([wanted + 25.0, wanted])
    assert sorted(shapely.LinearRing(ring).is_ccw for ring in rings.section(1)) == [False, True]
    assert rings.gap.tolist() == [0.0, 0.0]
    assert abs(rings.left_out).max() < 0.002 * rings.perimeter.max()


def test_segments_have_the_material_on_their_left() -> None:
    """Of every wanted plane as many as facets are cut; just left of their middles lies the body."""
    ball = sphere(20.0, 3)
    found = cut(ball)
    wanted = np.array([0, 7, 8, 60, 99], dtype=np.int64)
    seg, starts = found.segments(wanted)
    assert np.diff(starts).tolist() == found.counts[wanted].tolist()
    for q, plane in enumerate(wanted):
        own = seg[starts[q] : starts[q + 1]]
        a, b = own[:, :2], own[:, 2:]
        long = np.hypot(*(b - a).T) > 1e-6
        left = (a + b)[long] / 2.0 + 1e-4 * np.column_stack([-(b - a)[long, 1], (b - a)[long, 0]])
        right = (a + b)[long] - left
        radius = np.hypot(*(left - 10.0).T), np.hypot(*(right - 10.0).T)
        assert (radius[0] < radius[1]).all()
        assert np.hypot(*(b - a).T).sum() == pytest.approx(found.perimeter[plane])


def test_the_sweep_itself() -> None:
    """Spans of planes of each facet, counts, checks: what the rest is made of."""
    mesh = box(4.0, 5.0, 10.0)
    heights = np.array([1.0, 3.0, 5.0])
    low = np.ascontiguousarray(mesh.bounds[0])
    sums, checks, counts, spans, _, tilted, totals, whole = kernel.sweep(
        mesh.triangles, mesh.triangles.view(np.int64), low, heights, 2.0, 0.0, 0.5, 1.0
    )
    assert sums[:, kernel.CROSS] == pytest.approx([40.0] * 3)
    assert sums[:, kernel.LENGTH] == pytest.approx([18.0] * 3)
    assert (checks.tolist(), int(whole)) == ([0, 0, 0], 0)
    assert counts.tolist() == [8, 8, 8]
    flat = np.ptp(mesh.triangles[:, :, 2], axis=1) == 0.0
    assert (spans[flat, 0] == spans[flat, 1]).all()
    assert spans[~flat].tolist() == [[0, 3]] * 8
    assert tilted.tolist() == [True, False, False, True]
    assert totals[kernel.SIX_VOLUMES] == pytest.approx(1200.0)


def parted(rings: Rings) -> list[list[list[tuple[float, float]]]]:
    return [[list(map(tuple, ring.tolist())) for ring in rings.section(q)] for q in range(len(rings.area))]


def test_picking_and_merging_sections() -> None:
    """Any order, also twice; two sets one after the other have the sections of both."""
    found = cut(joined(tube(30.0, 20.0, 4.0), moved(box(5.0, 5.0, 2.0), 20.0)))
    one = found.rings(np.array([0, 5, 12], dtype=np.int64))
    other = found.rings(np.array([3, 18], dtype=np.int64))
    both = merged([one, other])
    assert parted(both) == parted(one) + parted(other)
    picked = both.picked(np.array([4, 0, 0, 2]))
    assert parted(picked) == [parted(both)[k] for k in (4, 0, 0, 2)]
    for name in ("area", "perimeter", "left_out", "outers", "rings", "gap"):
        assert getattr(picked, name).tolist() == [getattr(both, name)[k] for k in (4, 0, 0, 2)]
    assert merged([one]) is one
    assert parted(both.picked(np.empty(0, dtype=np.int64))) == []
