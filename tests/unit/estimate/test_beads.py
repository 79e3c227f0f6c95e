"""The beads of a part as the clock takes them: what stands in them, by hand on simple bodies."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from planner.estimate.layers.areas import layer_areas
from planner.estimate.layers.layers import layer_plan
from planner.estimate.part import _beads
from planner.estimate.time.beads import LayerBeads
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.sections.section import sections
from tests.builders import box, circle, cone, cylinder, joined, moved, tube
from tests.estimates import part_of


def beads(mesh: TriangleMesh, **recipe: Any) -> LayerBeads:
    """Of a mesh that stands as it is; a bead of 0.45 mm, layers of 0.2 mm."""
    part = part_of(**recipe)
    plan = layer_plan(float(mesh.extents[2]), part.recipe)
    cut = sections(mesh, plan.mid_mm, part.recipe.layer_height_mm)
    work = layer_areas(cut, plan, part, 1.24e-3)
    return _beads(work, work.inner_mm2 - work.solid_mm2)


@pytest.mark.parametrize(
    "mesh", [box(30, 20, 10), tube(30.0, 20.0, 8.0), cone(30.0, 12.0)], ids=["box", "tube", "cone"]
)
def test_every_layer_has_its_row_and_its_nearest_outline(mesh: TriangleMesh) -> None:
    """Columns are as long as there are layers; outlines of some layers stand for those near them."""
    found = beads(mesh)
    n = len(found)
    assert n == len(found.height_mm) == round(mesh.extents[2] / 0.2)
    for name in (
        "wall_path_mm",
        "wall_mm3",
        "solid_mm2",
        "sparse_mm2",
        "islands",
        "chord_mm",
        "nearest",
        "spiral",
    ):
        assert len(getattr(found, name)) == n
    assert (np.diff(found.walked) > 0).all()
    off = np.abs(found.walked[found.nearest] - np.arange(n))
    assert (off == np.abs(found.walked[None, :] - np.arange(n)[:, None]).min(axis=1)).all()
    assert len(found.walked_starts) == len(found.walked) + 1
    assert found.walked_starts[-1] == len(found.ring_starts) - 1
    assert found.ring_starts[-1] == len(found.points)
    assert len(found.hops) == len(found.hop_mm) == len(found.reach_mm) == len(found.walked)


def test_walls_of_a_box_by_hand() -> None:
    """Two walls of a 30 x 20 box: centre lines at half a bead and one pitch further in."""
    found = beads(box(30, 20, 10), walls=2, top_layers=0, bottom_layers=0, infill=0.0)
    pitch = found.solid_spacing_mm
    wanted = sum(2 * (30 + 20) - 8 * depth for depth in (0.225, 0.225 + pitch))
    assert found.wall_path_mm == pytest.approx(np.full(50, wanted), rel=2e-3)
    per_layer = found.wall_mm3 / found.wall_path_mm / found.height_mm
    assert per_layer == pytest.approx(np.full(50, pitch), rel=0.02)
    assert found.solid_mm2.max() == 0.0
    assert found.sparse_mm2.max() == 0.0
    assert np.isinf(found.sparse_spacing_mm)


def test_solid_and_sparse_layers() -> None:
    """Three solid layers at either end, sparse ones between; sparse lines fill a fifth."""
    found = beads(box(30, 20, 10), walls=1, top_layers=3, bottom_layers=3, infill=0.2)
    assert (found.solid_mm2[:3] > 500.0).all()
    assert (found.solid_mm2[-3:] > 500.0).all()
    assert found.solid_mm2[4:-4].max() == pytest.approx(0.0, abs=1e-6)
    assert found.sparse_mm2[10:40].min() > 500.0
    assert found.sparse_spacing_mm == pytest.approx(5.0 * found.solid_spacing_mm)
    inner = shapely.box(0, 0, 30, 20).buffer(-found.solid_spacing_mm, join_style="mitre")
    assert found.chord_mm[1] == pytest.approx(np.pi * inner.area / inner.length, rel=0.05)


def test_islands_and_brim() -> None:
    """Two posts on a plate; a brim of 4 mm round the first layer alone."""
    posts = joined(box(40, 10, 2), moved(box(8, 8, 6), 1, 1, 2), moved(box(8, 8, 6), 31, 1, 2))
    found = beads(posts, brim_mm=4.0)
    assert found.islands[:10].tolist() == [1] * 10
    assert set(found.islands[11:].tolist()) == {2}
    grown = shapely.box(0, 0, 40, 10).buffer(4.0).area - 400.0
    assert found.brim_path_mm[0] * found.solid_spacing_mm == pytest.approx(grown, rel=0.02)
    assert found.brim_path_mm[1:].max() == 0.0


def test_sums_along_outlines_are_those_of_the_rings() -> None:
    """The outline of the walked layers of a prism is as long as its polygon."""
    found = beads(cylinder(30.0, 10.0))
    length = shapely.Polygon(circle(30.0)).length
    for q in range(len(found.walked)):
        a, b = found.ring_starts[found.walked_starts[q]], found.ring_starts[found.walked_starts[q] + 1]
        assert shapely.LinearRing(found.points[a:b]).length == pytest.approx(length, rel=1e-4)
