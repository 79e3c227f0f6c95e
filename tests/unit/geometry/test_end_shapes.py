"""Ends of a body in numbers: a new file fits where the old one did, or it does not."""

from __future__ import annotations

import math

import manifold3d
import pytest

from planner.geometry.assembly.end_shapes import end_shapes, fits
from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import box, moved
from tests.kits.shapes import mesh_of


def tube(lower: float, upper: float, long: float = 80.0, wall: float = 2.0) -> TriangleMesh:
    """A tapering tube with plane ends."""
    outer, inner = (manifold3d.CrossSection.circle(lower / 2.0 - w, 128) for w in (0.0, wall))
    scale = (upper / lower, upper / lower)
    return mesh_of((outer - inner).extrude(long, 4, 0.0, scale))


def test_the_numbers_of_a_block_are_those_of_its_end() -> None:
    """Worked by hand: 40 x 90 mm has 3600 mm2 and 260 mm round it; where it lies does not count."""
    for mesh in (box(40.0, 90.0, 25.0), moved(box(40.0, 90.0, 25.0), 7.0, -3.0, 11.0)):
        low, high = end_shapes(mesh)
        assert low == pytest.approx((60.0, 260.0, 40.0, 90.0), abs=1e-6)
        assert high == pytest.approx(low, abs=1e-6)


def test_a_tube_ends_in_its_outer_outline() -> None:
    """Openings are filled: another wall leaves the joint as it is."""
    low, high = end_shapes(tube(60.0, 48.0))
    thick_low, _ = end_shapes(tube(60.0, 48.0, wall=5.0))
    assert low is not None
    assert high is not None
    assert low[0] == pytest.approx(math.sqrt(math.pi) * 30.0, rel=2e-3)
    assert high[2:] == pytest.approx((48.0, 48.0), abs=0.2)
    assert fits(low, thick_low)
    assert not fits(low, high)


def test_the_upper_end_of_one_fits_the_lower_end_of_the_next() -> None:
    """Drawn in another place and longer; half a millimetre is let go, two are not."""
    _, upper = end_shapes(tube(60.0, 48.0))
    for width, holds in ((48.0, True), (48.4, True), (50.5, False), (45.0, False)):
        lower, _ = end_shapes(moved(tube(width, 40.0, long=120.0), 300.0))
        assert fits(upper, lower) is holds, width


def test_a_ball_has_no_plane_end_and_fits_nothing() -> None:
    """Nor does it fit another one of its kind."""
    ball = mesh_of(manifold3d.Manifold.sphere(20.0, 64))
    assert end_shapes(ball) == (None, None)
    assert not fits(None, None)
    assert not fits(None, (1.0, 4.0, 1.0, 1.0))


def test_the_same_mesh_is_measured_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its content decides, not the object."""
    first = end_shapes(tube(61.0, 47.0))
    monkeypatch.setattr("planner.geometry.assembly.end_shapes._shape", lambda end: None)
    assert end_shapes(tube(61.0, 47.0)) == first
    assert end_shapes(tube(61.0, 46.0)) == (None, None)
