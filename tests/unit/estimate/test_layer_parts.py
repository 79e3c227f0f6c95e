"""The stages between sections and areas: outlines, walks, solid layers, thin walls, torn meshes."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely
from shapely import affinity

from planner.estimate.layers.layers import LayerPlan, layer_plan
from planner.estimate.layers.open_sections import closed_over, inside_out, mended
from planner.estimate.layers.outline_kernel import moments, side_sums
from planner.estimate.layers.solid_layers import solids
from planner.estimate.layers.thin import measured, thin_walls
from planner.estimate.layers.thin_losses import losses
from planner.estimate.layers.walk import Walk, WallRule, between, jumps, walk
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.sections.band_kernel import INNER, PATH
from planner.geometry.sections.section import Sections, sections
from planner.model.recipe import Recipe
from tests.builders import box, circle, cone, cylinder, frustum, inward, joined, moved, tube, without
from tests.estimates import part_of

PITCH = 0.4
SKIN: dict[str, Any] = {"walls": 1, "least_bead_width_mm": 0.3}


def packed(*regions: shapely.Polygon) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rings, plane = [], [0]
    for region in regions:
        whole = shapely.orient_polygons(region)
        rings += [np.asarray(r.coords)[:-1] for r in (whole.exterior, *whole.interiors)]
        plane.append(len(rings))
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])]).astype(np.int64)
    return np.ascontiguousarray(np.concatenate(rings)), starts, np.array(plane, dtype=np.int64)


HOLED = shapely.box(0, 0, 20, 10).difference(shapely.box(4, 3, 9, 7))


def test_sums_along_sides_by_hand() -> None:
    """Length, mean width across both diagonals, and that times the cosine: a square, one on its corner."""
    square, diamond = shapely.box(0, 0, 10, 10), affinity.rotate(shapely.box(0, 0, 10, 10), 45)
    table = side_sums(*packed(square, diamond))
    # a side along x spans 10 / sqrt 2 on either diagonal; both together, over sqrt 8: 20 / sqrt 8
    assert table[0] == pytest.approx([40.0, 4 * 20.0 / np.sqrt(8.0), 4 * 5.0])
    assert table[1] == pytest.approx([40.0, 4 * 2 * np.sqrt(50.0) / np.sqrt(8.0), 0.0], abs=1e-9)


@pytest.mark.parametrize("region", [HOLED, affinity.translate(affinity.rotate(HOLED, 33), -7, 12)])
def test_moments_are_those_of_a_fine_raster(region: shapely.Polygon) -> None:
    """Area and integrals of x, y, x2, y2 and xy; holes count negative; moved in by 1 mm likewise."""
    whole, inner = moments(*packed(region), np.array([1.0]))
    for row, shape in ((whole[0], region), (inner[0], region.buffer(-1.0, join_style="mitre"))):
        x0, y0, x1, y1 = shape.bounds
        x, y = np.meshgrid(np.arange(x0, x1, 0.05) + 0.025, np.arange(y0, y1, 0.05) + 0.025)
        inside = shapely.contains_xy(shape, x, y)
        x, y, cell = x[inside], y[inside], 0.05**2
        sums = [cell * v.sum() for v in (np.ones_like(x), x, y, x * x, y * y, x * y)]
        assert row == pytest.approx(sums, rel=0.01, abs=0.01 * abs(sums[3]))
        assert row[0] == pytest.approx(shape.area)
        assert row[1] / row[0] == pytest.approx(shape.centroid.x)


def looked(
    mesh: TriangleMesh, walls: int = 1, height: float = 0.2, **more: Any
) -> tuple[Sections, Walk, WallRule, LayerPlan]:
    """A mesh cut and walked as the estimate does it."""
    plan = layer_plan(
        float(mesh.extents[2]), Recipe("r", layer_height_mm=height, first_layer_height_mm=height)
    )
    cut = sections(mesh, plan.mid_mm, height)
    rule = WallRule(np.full(len(plan), walls, dtype=np.int64), 0.0, PITCH, 0.15)
    return cut, walk(cut, rule, **more), rule, plan


def test_a_prism_is_walked_at_a_few_layers_only() -> None:
    """Path and inside of all layers follow from those few, exactly."""
    _, walked, _, plan = looked(cylinder(30.0, 40.0))
    assert len(walked.layers) < 0.1 * len(plan)
    base = shapely.Polygon(circle(30.0))
    path = between(walked.layers, walked.table[:, PATH], len(plan))
    assert path == pytest.approx(
        np.full(len(plan), base.buffer(-0.5 * PITCH, join_style="mitre").length), rel=1e-3
    )
    assert walked.table[:, INNER] == pytest.approx(
        np.full(len(walked.layers), base.buffer(-PITCH, join_style="mitre").area), rel=1e-3
    )
    assert not walked.united


def test_a_cone_read_off_between_walked_layers() -> None:
    """Every layer within a half per cent of its own closed form, though most were never walked."""
    cut, walked, _, plan = looked(cone(30.0, 40.0))
    base = shapely.Polygon(circle(30.0))
    share = 1.0 - plan.mid_mm / 40.0
    inner = between(walked.layers, walked.table[:, INNER] / walked.area, len(plan)) * cut.area
    wide = share > 0.2
    wanted = [affinity.scale(base, s, s).buffer(-PITCH, join_style="mitre").area for s in share[wide]]
    assert inner[wide] == pytest.approx(np.array(wanted), rel=0.01)
    assert len(walked.layers) < 0.5 * len(plan)


def test_jumps_are_where_the_section_jumps() -> None:
    """A post on a plate jumps once; a slope never."""
    cut, walked, _, _ = looked(joined(box(20, 20, 4), moved(box(5, 5, 6), 2, 2, 4)))
    assert jumps(cut).tolist() == [19]
    assert {19, 20} <= set(walked.layers.tolist())
    assert jumps(looked(frustum(30.0, 20.0, 10.0))[0]).tolist() == []


def test_layers_that_are_asked_for_are_walked() -> None:
    """Besides those that are needed; a stride forces more of them."""
    walked = looked(cylinder(30.0, 40.0), also=np.array([7, 33]))[1]
    assert {7, 33} <= set(walked.layers.tolist())
    every = looked(cylinder(30.0, 40.0), every=5)[1]
    assert set(range(0, 200, 5)) <= set(every.layers.tolist())


def test_sections_that_were_not_walked_are_cut_anew() -> None:
    """In the order asked for, walked or not."""
    cut, walked, _, _ = looked(cone(30.0, 40.0))
    wanted = np.array([0, 3, 50, 51, 199], dtype=np.int64)
    found = walked.sections_of(cut, wanted)
    assert found.area == pytest.approx(cut.area[wanted], rel=1e-6)
    known = walked.layers[[0, 2]]
    assert walked.sections_of(cut, known).area.tolist() == walked.area[[0, 2]].tolist()


def test_bodies_that_overlap_are_united() -> None:
    """Two boxes that share a strip of 5 x 20: every point counts once."""
    cut, walked, _, _ = looked(joined(box(20, 20, 10), moved(box(20, 20, 10), 15)))
    assert walked.united
    assert walked.area == pytest.approx(np.full(len(walked.layers), 35.0 * 20.0))
    assert cut.area[0] == pytest.approx(800.0)
    whole = mended(cut, walked)
    assert whole.area == pytest.approx(np.full(50, 700.0))
    assert whole.perimeter == pytest.approx(np.full(50, 110.0))
    assert whole.middle == pytest.approx(np.tile([17.5, 10.0], (50, 1)))


def test_sound_sections_stay_as_they_were_cut() -> None:
    """And a body inside out holds nothing."""
    cut, walked, _, plan = looked(cone(30.0, 10.0))
    assert mended(cut, walked) is cut
    turned = looked(inward(box(5, 5, 5)))
    assert mended(turned[0], turned[1]).area.max() == 0.0
    (said,) = inside_out(turned[0].area, turned[3].mid_mm, "box.stl")
    assert "it is inside out" in said.text
    assert inside_out(cut.area, plan.mid_mm, "cone.stl") == []


def test_a_gap_is_closed_straight_and_told_where_it_is_wide() -> None:
    """One wall of a box is missing: the outline is closed over 20 mm, a fifth of it or more."""
    mesh = box(20, 20, 10)
    wall = [k for k, t in enumerate(mesh.triangles) if (t[:, 0] == 20.0).all()]
    cut, walked, _, plan = looked(without(mesh, wall))
    assert cut.torn.all()
    whole = mended(cut, walked)
    assert whole.area == pytest.approx(np.full(50, 400.0), rel=1e-6)
    (said,) = closed_over(walked, plan.mid_mm, "box.stl")
    assert "closed straight over 20.0 mm" in said.text
    sound = looked(mesh)
    assert closed_over(sound[1], sound[3].mid_mm, "box.stl") == []


def solid(mesh: TriangleMesh, above: int, below: int) -> np.ndarray:
    cut, walked, rule, _ = looked(mesh)
    return solids(cut, walked, rule, above, below, 0.2).share


def test_solid_layers_at_both_ends_and_under_a_step() -> None:
    """Three above, two below: the ends are solid; under a step as much as the step leaves open."""
    share = solid(joined(box(20, 20, 10), moved(box(8, 20, 10), z=10.0)), 3, 2)
    assert share[:2] == pytest.approx([1.0, 1.0])
    assert share[-3:] == pytest.approx([1.0, 1.0, 1.0])
    assert share[5:40] == pytest.approx(np.zeros(35), abs=1e-9)
    inside = 19.2**2
    wanted = (20.0 - 8.0 - PITCH) * 19.2 / inside
    assert share[47:50] == pytest.approx(np.full(3, wanted), rel=0.02)
    assert share[50:90] == pytest.approx(np.zeros(40), abs=1e-9)


def test_no_solid_layers_where_none_are_asked_for() -> None:
    assert solid(cylinder(20.0, 10.0), 0, 0).max() == 0.0
    only_top = solid(cylinder(20.0, 10.0), 2, 0)
    assert (only_top[-2:] == 1.0).all()
    assert only_top[:-2].max() == 0.0


def test_a_slope_is_solid_where_walls_do_not_reach() -> None:
    """A flat cone needs solid layers all the way up; a steep one, which walls cover, none but at its ends."""
    flat, steep = solid(cone(60.0, 6.0), 3, 0), solid(cone(20.0, 60.0), 3, 0)
    assert flat[5:-5].min() > 0.1
    assert steep[5:200].max() == 0.0


FIN = joined(box(20, 20, 2), box(20, 0.1, 10, (0, 15.0, 2)))


def test_a_fin_is_measured() -> None:
    """20 mm3 and 200 mm2 of wall on the layers above the plate, in one run."""
    cut, walked, _, plan = looked(FIN)
    found = measured(cut, walked, plan)
    assert found.lost_mm3 == pytest.approx(20.0, rel=0.05)
    assert found.wall_mm2 == pytest.approx(200.0, rel=0.05)
    assert found.runs == ((10, 59),)
    assert found.bad.any()
    sound = looked(box(20, 20, 10))
    none = measured(sound[0], sound[1], sound[3])
    assert (none.lost_mm3, none.wall_mm2, none.bad.any(), none.runs) == (0.0, 0.0, False, ())


def test_what_is_said_of_a_fin() -> None:
    """Where, how thick, how much; nothing of a sound block."""
    cut, walked, _, plan = looked(FIN)
    (said,) = thin_walls(cut, walked, plan, part_of(**SKIN), 1.24e-3)
    assert said.weight == "fault"
    assert "about 0.10 mm thick near" in said.text
    assert "thinner than the least bead of 0.3 mm" in said.text
    assert "between 2.1 and 11.9 mm above the bed, 2.0 cm² of wall or 0.025 g" in said.text
    block = looked(box(20, 20, 10))
    assert thin_walls(block[0], block[1], block[3], part_of(**SKIN), 1.24e-3) == []


def test_losses_that_matter_and_such_that_do_not() -> None:
    """A tower of 0.1 mm carries a head: it hangs in the air. The fin carries nothing but its own end."""
    neck = joined(box(20, 20, 2), moved(box(10, 0.1, 6), 5, 10, 2), moved(box(10, 10, 4), 5, 5, 8))
    cut, walked, _, plan = looked(neck)
    told = losses(cut, walked, plan, part_of(**SKIN).recipe)
    assert any("is left hanging in the air" in words for words in told)
    cut, walked, _, plan = looked(FIN)
    assert losses(cut, walked, plan, part_of(**SKIN).recipe) == []
    ring = tube(30.0, 29.8, 10.0)
    cut, walked, _, plan = looked(ring)
    told = losses(cut, walked, plan, part_of(**SKIN).recipe)
    assert any("% of the face that it stands on" in words for words in told)
    assert any("% of the face that it ends with" in words for words in told)
