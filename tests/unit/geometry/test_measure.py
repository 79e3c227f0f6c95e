"""Volume, area, centroid, inertia of meshes that can be worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.measure import area, facet_areas, measures, shifted_inertia, volume
from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import box, inward, joined, moved

ROUNDING = 1e-12  # relative, of a few dozen float64 operations


def test_a_box_has_the_volume_area_and_centre_of_a_box() -> None:
    """10 x 20 x 30: 6000 mm3, 2 (200 + 300 + 600) = 2200 mm2, centre at half of each side."""
    found = measures(box(10, 20, 30))
    assert found.volume == pytest.approx(6000, rel=ROUNDING)
    assert found.area == pytest.approx(2200, rel=ROUNDING)
    assert found.centroid == pytest.approx([5, 10, 15], rel=ROUNDING)
    assert area(box(10, 20, 30)) == pytest.approx(2200, rel=ROUNDING)


def test_a_box_has_the_inertia_of_a_box() -> None:
    """6000 (20^2 + 30^2) / 12 = 650000 about x, and no products."""
    found = measures(box(10, 20, 30))
    assert np.diag(found.inertia) == pytest.approx([650000, 500000, 250000], rel=ROUNDING)
    assert np.abs(found.inertia - np.diag(np.diag(found.inertia))).max() < 1e-6


def test_the_corner_tetrahedron_has_its_product_of_inertia() -> None:
    """Unit legs: volume 1/6, centroid 1/4; second moments about it 1/60 - 1/96, xy 1/120 - 1/96."""
    o, x, y, z = np.zeros(3), *np.eye(3)
    mesh = TriangleMesh(np.array([[o, y, x], [o, x, z], [o, z, y], [x, y, z]]))
    found = measures(mesh)
    assert found.volume == pytest.approx(1 / 6, rel=ROUNDING)
    assert found.centroid == pytest.approx([0.25, 0.25, 0.25], rel=ROUNDING)
    assert found.inertia[0, 0] == pytest.approx(2 * (1 / 60 - 1 / 96), rel=1e-10)
    assert found.inertia[0, 1] == pytest.approx(-(1 / 120 - 1 / 96), rel=1e-10)


def test_a_mesh_far_away_keeps_its_digits() -> None:
    """A shift of a kilometre costs no more than the digits of the coordinates themselves."""
    found = measures(moved(box(10, 20, 30), 1e6, -1e6, 1e6))
    assert found.volume == pytest.approx(6000, rel=1e-9)
    assert np.diag(found.inertia) == pytest.approx([650000, 500000, 250000], rel=1e-8)


def test_a_cavity_takes_away() -> None:
    """30^3 - 10^3, however the two surfaces are listed."""
    hollow = joined(box(30, 30, 30), inward(box(10, 10, 10, (10, 10, 10))))
    assert volume(hollow) == pytest.approx(26000, rel=ROUNDING)
    assert measures(hollow).inertia[0, 0] == pytest.approx((27000 * 1800 - 1000 * 200) / 12, rel=1e-10)


def test_a_mesh_inside_out_has_a_negative_volume() -> None:
    """The sign tells which way the facets look."""
    assert volume(inward(box(1, 2, 3))) == pytest.approx(-6, rel=ROUNDING)


def test_a_flat_mesh_has_no_inertia_and_no_division_by_nought() -> None:
    """A double-sided triangle encloses nothing."""
    flat = np.array([[[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 0, 0], [0, 1, 0], [1, 0, 0]]], dtype=float)
    found = measures(TriangleMesh(flat))
    assert found.volume == 0
    assert found.area == pytest.approx(1)
    assert np.isfinite(found.centroid).all()
    assert not found.inertia.any()
    assert facet_areas(TriangleMesh(flat)) == pytest.approx([0.5, 0.5])


def test_a_parallel_axis_adds_mass_times_the_square_of_the_arm() -> None:
    """2 g at 3 mm along x adds 18 about y and z, nothing about x."""
    moved_ = shifted_inertia(np.eye(3), 2.0, np.array([3.0, 0.0, 0.0]))
    assert np.diag(moved_) == pytest.approx([1, 19, 19])
