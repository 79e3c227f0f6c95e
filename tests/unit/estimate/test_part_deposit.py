"""Deposits of whole parts.

What the deposit of one part says beside its volume: support, foot, spiral, thin walls, centroid,
outline.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import about_axis
from planner.model.part import Part
from planner.model.recipe import Recipe
from tests import builders
from tests.estimates import PLAIN, deposit_of, texts

ONE_PERCENT = 0.01
TWO_PERCENT = 0.02  # support stands on a grid of columns
OUTLINE_MM = 0.3  # the outline may lie this far outside the shadow, corners included

BARE = {"support_walls": 0, "support_gap_mm": 0, "support_gap_height_mm": 0, "support_widening_deg": 0}


def table(top: float, foot: float, height: float, plate: float) -> TriangleMesh:
    """A square plate on a square foot, as one closed body: a mushroom with square edges."""
    o = (top - foot) / 2
    low = builders.box(foot, foot, height, (o, o, 0.0)).triangles
    high = builders.box(top, top, plate, (0.0, 0.0, height)).triangles
    joined = np.concatenate([low, high])
    return TriangleMesh(joined)


def test_support_fills_the_air_under_a_plate():
    """A plate 20 x 20 on a foot 10 x 10: support stands under the rest, whole as asked for."""
    mesh = table(20.0, 10.0, 8.0, 2.0)
    none = deposit_of(mesh, support="none")
    modelled = deposit_of(mesh, support="as modelled")
    built = deposit_of(mesh, support="everywhere", support_infill=1.0, **BARE)
    air = 20.0**2 - 10.0**2
    assert none.support_mm3 == modelled.support_mm3 == 0.0
    assert built.support_mm3 == pytest.approx(air * 8.0, rel=TWO_PERCENT)
    assert built.volume_mm3 - built.support_mm3 == pytest.approx(none.volume_mm3, rel=1e-12)
    assert float(built.layers.support_mm3[42:].sum()) == 0.0
    assert "the recipe has no support" in texts(none)
    assert "look down" not in texts(built)


def test_support_goes_down_to_the_part():
    """Under a roof over a floor, support stands between the two and not below the floor."""
    floor, roof = builders.box(20, 20, 2), builders.box(20, 20, 2, (0, 0, 7))
    post = builders.box(2, 20, 5, (0, 0, 2))
    mesh = builders.joined(floor, post, roof)
    built = deposit_of(mesh, support="everywhere", support_infill=1.0, **BARE)
    assert built.support_mm3 == pytest.approx(18 * 20 * 5.0, rel=TWO_PERCENT)
    assert float(built.layers.support_mm3[:10].sum()) == 0.0


@pytest.mark.parametrize(("angle", "wants"), [(30.0, False), (50.0, True)])
def test_support_angle(angle, wants):
    """A cone on its tip hangs at 40 degrees from horizontal: flatter than 50, steeper than 30."""
    wide = 2.0 * 20.0 / math.tan(math.radians(40.0))
    cone = builders.frustum(0.5, wide + 0.5, 20.0)
    deposit = deposit_of(cone, support="everywhere", support_angle_deg=angle)
    assert (deposit.support_mm3 > 0.0) == wants


def test_tall_on_a_small_foot():
    """A rod ten times as tall as wide is doubted, unless it has a brim; a low one is not."""
    rod = builders.cylinder(10, 100)
    assert "may come loose" in texts(deposit_of(rod))
    assert "may come loose" not in texts(deposit_of(rod, brim_mm=5.0))
    assert "may come loose" not in texts(deposit_of(builders.cylinder(10, 60)))


def test_first_layer_area():
    """Contact with the bed is the first section."""
    assert deposit_of(builders.tube(30, 20, 5)).first_layer_area_mm2 == pytest.approx(
        math.pi / 4 * (30**2 - 20**2), rel=ONE_PERCENT
    )


def test_spiral_needs_one_ring():
    """A tube has two outlines: it is reckoned with walls, and the finding says where."""
    recipe = {"walls": 2, "top_layers": 0, "bottom_layers": 0, "infill": 0.0}
    spiral = deposit_of(builders.tube(30, 26, 5), spiral=True, **recipe)
    assert spiral.volume_mm3 == deposit_of(builders.tube(30, 26, 5), **recipe).volume_mm3
    assert "cannot be printed as a spiral" in texts(spiral)
    assert "2 outlines" in texts(spiral)


def test_spiral_that_parts_higher_up():
    """Two towers on one plate: the section parts above the plate."""
    towers = builders.joined(
        builders.box(30, 10, 3), builders.box(8, 8, 10, (1, 1, 3)), builders.box(8, 8, 10, (20, 1, 3))
    )
    assert "cannot be printed as a spiral: at 3." in texts(deposit_of(towers, spiral=True))


@pytest.mark.parametrize("thick", [0.1, 0.2])
def test_thin_wall_is_found_where_it_stands(thick):
    """A fin thinner than the least bead: place and thickness are named, and it has no volume."""
    plate = builders.box(20, 20, 2)
    fin = builders.box(20, thick, 10, (0, 15.0, 2))
    deposit = deposit_of(builders.joined(plate, fin), infill=1.0)
    text = texts(deposit)
    assert f"about {thick:.2f} mm" in text
    assert "y 15." in text
    assert float(deposit.layers.wall_mm3[12:].sum()) < 0.5
    thicker = builders.joined(plate, builders.box(20, 0.3, 10, (0, 15.0, 2)))
    assert "thinner than the least bead" not in texts(deposit_of(thicker))


def test_places_are_those_of_the_mesh_file():
    """The finding's place is in the coordinates of the file, also when the part is turned and moved."""
    fin = builders.joined(builders.box(20, 20, 2), builders.box(20, 0.1, 10, (0, 15.0, 2)))
    moved = builders.moved(fin, 100.0, 200.0, 300.0)
    assert "y 215." in texts(deposit_of(moved))
    on_its_back = deposit_of(moved, pose=about_axis((0, 0, 1), 90.0))
    assert "y 215." in texts(on_its_back)


def test_centroid_of_a_hollow_box():
    """Walls weigh where they are: an open box without lid balances below its middle; both frames agree."""
    recipe = {"walls": 1, "top_layers": 0, "bottom_layers": 5, "infill": 0.0}
    deposit = deposit_of(builders.moved(builders.box(40, 20, 20), 7.0, -3.0, 11.0), **recipe)
    wall, floor = float(deposit.layers.wall_mm3.sum()), float(deposit.layers.solid_mm3.sum())
    z = (wall * 10.0 + floor * 0.5) / (wall + floor)
    assert deposit.centroid_mm == pytest.approx((20.0, 10.0, z), abs=0.02)
    assert deposit.centroid_in_mesh_mm == pytest.approx((27.0, 7.0, z + 11.0), abs=0.02)


def test_turned_part():
    """A box laid on its side has the extents, layers and frame of the turned mesh."""
    box = builders.box(10, 20, 40)
    deposit = deposit_of(box, pose=about_axis((0, 1, 0), 90.0))
    assert deposit.extents_mm == pytest.approx((40, 20, 10), abs=1e-9)
    assert len(deposit.layers) == 50
    assert deposit.centroid_in_mesh_mm == pytest.approx((5, 10, 20), abs=0.02)


@pytest.mark.parametrize(
    "mesh",
    [
        builders.box(20, 10, 5),
        builders.sphere(20),
        builders.frustum(10, 30, 15),
        builders.lofted(
            builders.aerofoil(120.0), builders.aerofoil(80.0) + np.array([30.0, 4.0]), 40.0, steps=10
        ),
        builders.ring(40, 6),
    ],
    ids=["box", "sphere", "frustum", "wing", "ring"],
)
def test_outline_holds_the_shadow(mesh):
    """The outline covers the union of all facets seen from above and is nowhere far outside it."""
    outline = shapely.Polygon(deposit_of(mesh).footprint_mm)
    flat = mesh.triangles[:, :, :2] - mesh.bounds[0, :2]
    pieces = shapely.polygons(flat)
    shadow = shapely.union_all(pieces[shapely.area(pieces) > 1e-7], grid_size=1e-7)
    assert outline.is_valid
    assert outline.exterior.is_ccw
    assert len(outline.exterior.coords) <= 201
    assert outline.covers(shadow)
    largest = max(shapely.get_parts(shadow), key=lambda p: p.area)  # specks may lie along a curved edge
    filled = shapely.Polygon(largest.exterior)
    assert shapely.hausdorff_distance(outline.exterior, filled.exterior, densify=0.02) < OUTLINE_MM


def test_opening_of_a_ring():
    """The opening of a ring is reported and lies inside the true one; a small one is not."""
    holes = deposit_of(builders.tube(40, 30, 6)).inside_holes
    assert len(holes) == 1
    opening = shapely.Polygon(holes[0])
    assert opening.area == pytest.approx(math.pi * 15**2, rel=3 * ONE_PERCENT)
    assert shapely.Point(20, 20).buffer(15.0).covers(opening)
    assert deposit_of(builders.tube(40, 5, 6)).inside_holes == ()


def test_two_bodies_have_one_outline():
    """Bodies that do not touch are held together by their hull."""
    apart = builders.joined(builders.box(5, 5, 5), builders.box(5, 5, 5, (20, 0, 0)))
    outline = shapely.Polygon(deposit_of(apart).footprint_mm)
    assert outline.covers(shapely.box(0, 0, 25, 5))


def test_columns_add_up():
    """The columns of the layers sum to the whole, heights rise by layers, mass follows volume."""
    part = Part("p", "p.stl", "s", Recipe("r", first_layer_height_mm=0.3, flow_trim=0.95), "plain")
    from planner.estimate.part import estimate_part

    deposit = estimate_part(builders.sphere(20), part, PLAIN, {})
    assert np.diff(deposit.layers.top_mm) == pytest.approx(0.2)
    assert deposit.layers.top_mm[0] == pytest.approx(0.3)
    assert deposit.mass_g == pytest.approx(1.24e-3 * 0.95 * deposit.volume_mm3, rel=1e-12)
    assert deposit.filament_m == pytest.approx(deposit.mass_g * PLAIN.metres_per_gram, rel=1e-12)
    assert deposit.surface_mm2 == pytest.approx(4 * math.pi * 100, rel=ONE_PERCENT)
