"""Plane faces and outlines that fit one another, on bodies whose faces are known."""

from __future__ import annotations

import manifold3d
import numpy as np
import pytest
import shapely

from planner.geometry.assembly.plane_faces import plane_faces
from planner.geometry.assembly.profiles import joined, shaped
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.planar.own_axes import carried, outline_of, radii_round, turned_by, within_sides
from tests.builders import aerofoil, aerofoil_slab, box, cylinder, sphere, tube
from tests.kits import shapes


def any_turn(seed: int) -> np.ndarray:
    turn = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))[0]
    return turn * np.sign(np.linalg.det(turn))


def laid(mesh: TriangleMesh, seed: int) -> TriangleMesh:
    return TriangleMesh(mesh.triangles @ any_turn(seed).T + np.array([3.0, -7.0, 20.0 * seed]))


def test_moments_of_a_rectangle_are_those_of_the_book() -> None:
    # radii of gyration of a rectangle: side / sqrt(12) (handbook of mechanics, from memory)
    region = turned_by(shapely.box(0.0, 0.0, 60.0, 20.0), 0.4)
    outline = outline_of(region)
    assert outline is not None
    assert outline.area == pytest.approx(1200.0)
    assert outline.round_mm == pytest.approx(160.0)
    np.testing.assert_allclose(outline.radii, np.array([60.0, 20.0]) / np.sqrt(12.0))
    np.testing.assert_allclose(outline.size, (60.0, 20.0))
    np.testing.assert_allclose(outline.lean, 0.0, atol=1e-9)
    np.testing.assert_allclose(np.abs(outline.axis), (np.cos(0.4), np.sin(0.4)))


def test_third_moment_of_a_right_triangle() -> None:
    # skewness of a triangular distribution that falls to one side: 2 sqrt(2) / 5 (handbook, from memory)
    outline = outline_of(shapely.Polygon([(0.0, -5.0), (90.0, 0.0), (0.0, 5.0)]))
    assert outline is not None
    assert abs(outline.lean[0]) == pytest.approx(2.0 * np.sqrt(2.0) / 5.0)


def test_openings_count_as_filled_and_an_open_rim_as_what_is_round_it() -> None:
    whole = shapely.box(0.0, 0.0, 40.0, 30.0)
    ring = whole.difference(shapely.box(2.0, 2.0, 38.0, 28.0))
    slit = ring.difference(shapely.box(-1.0, 14.9, 3.0, 15.1))
    apart = shapely.union_all([shapely.box(0.0, 0.0, 40.0, 2.0), shapely.box(0.0, 28.0, 40.0, 30.0)])
    for region in (ring, slit, apart):
        outline = outline_of(region)
        assert outline is not None
        assert outline.area == pytest.approx(1200.0, rel=1e-3)
    assert outline_of(shapely.Polygon()) is None


def test_distances_round_a_square() -> None:
    found = radii_round(shapely.box(-10.0, -10.0, 10.0, 10.0), 8)
    np.testing.assert_allclose(found, [10.0, 10.0 * np.sqrt(2.0)] * 4, rtol=0.02)


def test_ends_of_a_panel_are_its_only_plane_faces_however_it_lies() -> None:
    slab = aerofoil_slab(150.0, 120.0, tip_chord=120.0)
    for mesh in (slab, laid(slab, 1), laid(slab, 2)):
        root, tip = plane_faces(mesh)
        assert root.outline.area == pytest.approx(tip.outline.area * 1.25**2, rel=1e-3)
        assert root.normal @ tip.normal == pytest.approx(-1.0)
        np.testing.assert_allclose(np.cross(root.along, root.aside), root.normal, atol=1e-9)
        assert abs((root.middle - tip.middle) @ root.normal) == pytest.approx(120.0)


def test_pins_and_sockets_do_not_change_an_end() -> None:
    plain = shapes.mesh_of(shapes.wing_panel(150.0, 100.0, 0.0))
    pinned = shapes.mesh_of(shapes.wing_panel(150.0, 100.0, 5.0))
    for one, other in zip(plane_faces(plain)[:2], plane_faces(pinned)[:2], strict=True):
        assert one.outline.area == pytest.approx(other.outline.area, rel=1e-6)


def test_a_smooth_body_has_no_plane_faces_and_a_pocket_is_no_end() -> None:
    assert plane_faces(sphere(80.0, 4)) == ()
    assert len(plane_faces(tube(60.0, 50.0, 80.0))) == 2
    cup = shapes.mesh_of(shapes.block(60.0, 60.0, 60.0) - shapes.block(50.0, 50.0, 58.0).translate((5, 5, 5)))
    assert len(plane_faces(cup)) == 6  # its five walls from outside, and its rim: not its floor


def test_ends_of_one_shape_fit_up_to_turn_and_motion() -> None:
    inner, outer = aerofoil_slab(150.0, 100.0, tip_chord=120.0), aerofoil_slab(120.0, 80.0, tip_chord=90.0)
    one, other = laid(inner, 3), laid(outer, 4)
    faces = shaped([*plane_faces(one), *plane_faces(other)])
    assert [face.shape for face in faces] == [0, 1, 1, 2]
    assert joined(faces[0], faces[3]) is None
    motion = joined(faces[1], faces[2])
    assert motion is not None
    # put together in the axes of the first: the outer panel goes on where the inner one ends
    meant = (outer.triangles + np.array([0.0, 0.0, 100.0])) @ any_turn(3).T + np.array([3.0, -7.0, 60.0])
    found = other.triangles @ motion[0].T + motion[1]
    np.testing.assert_allclose(found, meant, atol=0.02)
    assert np.linalg.det(motion[0]) == pytest.approx(1.0)


def cambered(chord: float, tip: float, *, left: bool = False) -> TriangleMesh:
    points = aerofoil(chord, 0.12, 40)
    x = points[:, 0] / chord
    points = points + np.column_stack([0.0 * x, 0.16 * chord * x * (1.0 - x)])
    solid = manifold3d.CrossSection([points.tolist()]).extrude(90.0, 2, 0.0, (tip / chord, tip / chord))
    return shapes.mesh_of(solid.mirror((0.0, 1.0, 0.0)) if left else solid)


def test_a_mirrored_end_fits_only_what_is_mirrored_too() -> None:
    inner, right, left = cambered(160.0, 130.0), cambered(130.0, 110.0), cambered(130.0, 110.0, left=True)
    faces = shaped([face for mesh in (inner, right, left) for face in plane_faces(laid(mesh, 5))[:2]])
    tip, own, others = faces[1], faces[2], faces[4]
    assert tip.shape == own.shape == others.shape
    assert joined(tip, own) is not None
    assert joined(tip, others) is None  # the bend would look down
    assert joined(own, others) is not None  # mirror images lie on each other


def test_round_and_square_ends_are_turned_until_they_fit() -> None:
    for end, steps in (
        (np.array([[-20.0, -20.0], [20.0, -20.0], [20.0, 20.0], [-20.0, 20.0]]), 4),
        (None, 0),
    ):
        body = cylinder(50.0, 60.0, 64) if end is None else shapes.mesh_of(shapes.prism(end, 60.0))
        spun = TriangleMesh(body.triangles @ np.array([[0.8, -0.6, 0.0], [0.6, 0.8, 0.0], [0.0, 0.0, 1.0]]).T)
        faces = shaped([plane_faces(body)[0], plane_faces(laid(spun, 6))[0]])
        assert {face.shape for face in faces} == {0}
        assert joined(*faces) is not None
        assert steps in (0, 4)


def test_ends_of_one_size_and_another_shape_do_not_fit() -> None:
    side = 25.0 * np.sqrt(np.pi)  # equal areas; lengths round them 157 and 177 mm
    faces = shaped([plane_faces(cylinder(50.0, 60.0))[0], plane_faces(box(side, side, 60.0))[0]])
    assert [face.shape for face in faces] == [0, 1]


def test_what_fits_as_it_is_drawn_is_not_turned() -> None:
    low, high = cylinder(50.0, 60.0, 64), cylinder(50.0, 90.0, 64)
    spun = TriangleMesh(high.triangles @ np.array([[0.8, -0.6, 0.0], [0.6, 0.8, 0.0], [0.0, 0.0, 1.0]]).T)
    top = next(face for face in plane_faces(low) if face.normal[2] > 0.0)
    foot = next(face for face in plane_faces(spun) if face.normal[2] < 0.0)
    motion = joined(*shaped([top, foot]))
    assert motion is not None
    np.testing.assert_array_equal(motion[0], np.eye(3))
    np.testing.assert_allclose(motion[1], (0.0, 0.0, 60.0), atol=1e-3)


def test_what_rings_enclose_and_regions_in_other_axes() -> None:
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 8.0], [0.0, 8.0]])
    hole = np.array([[2.0, 2.0], [4.0, 2.0], [4.0, 4.0], [2.0, 4.0]])
    sides = np.concatenate([np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in (square, hole)])
    region = within_sides(sides)
    assert region.area == pytest.approx(80.0)  # the opening is filled
    # x becomes y, and y becomes -x: a quarter turn
    turned = carried(region, np.array([[0.0, 1.0], [-1.0, 0.0]]))
    np.testing.assert_allclose(turned.bounds, (-8.0, 0.0, 0.0, 10.0))
    assert within_sides(sides[:2]).is_empty
