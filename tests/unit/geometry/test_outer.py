"""The surface that paint covers."""

from __future__ import annotations

import math

import pytest

from planner.geometry.outer import outer_surface
from tests.builders import box, joined, moved, sphere, tube

SAMPLED = 0.03  # fifteen hundred spots


def test_a_box_and_a_ball_are_painted_all_over():
    """Nothing of a convex body looks at itself: 2 (ab + bc + ca), and the whole mesh of a ball."""
    assert outer_surface(box(30.0, 20.0, 10.0)).area_mm2 == pytest.approx(2200.0)
    ball = sphere(40.0)
    assert outer_surface(ball).area_mm2 == pytest.approx(math.pi * 40.0**2, rel=0.01)


def test_the_inside_of_a_tube_is_not_painted():
    """A tube of 50 / 47 mm and 80 mm: mantle and two end faces count, the bore does not."""
    outside = math.pi * 50.0 * 80.0 + 2.0 * math.pi / 4.0 * (50.0**2 - 47.0**2)
    assert outer_surface(tube(50.0, 47.0, 80.0)).area_mm2 == pytest.approx(outside, rel=SAMPLED)


def test_faces_that_look_at_each_other_do_not_count():
    """Two plates of 40 x 40 x 2 a millimetre apart: both inner faces are hidden."""
    plates = joined(box(40.0, 40.0, 2.0), moved(box(40.0, 40.0, 2.0), z=3.0))
    assert outer_surface(plates).area_mm2 == pytest.approx(2 * 1600.0 + 8 * 80.0, rel=SAMPLED)
