"""Faces on which two bodies touch."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.assembly.contact import touches
from tests.builders import box, cylinder


def test_two_boxes_share_what_overlaps():
    """10 x 20 against 10 x 20, shifted by 4 and 5: 6 x 15 mm2, its middle at (7, 12.5, 30)."""
    (met,) = touches(box(10, 20, 30).triangles, box(10, 20, 8, (4.0, 5.0, 30.0)).triangles)
    assert met.area_mm2 == pytest.approx(90.0)
    assert met.middle == pytest.approx((7.0, 12.5, 30.0))
    assert met.outward == pytest.approx((0.0, 0.0, 1.0))


@pytest.mark.parametrize(("gap", "found"), [(0.0, 1), (0.2, 1), (-0.1, 1), (0.5, 0)])
def test_a_glue_gap_touches_and_a_hinge_gap_does_not(gap, found):
    """Up to 0.3 mm apart, or as much into each other, is a joint."""
    assert len(touches(box(10, 10, 10).triangles, box(10, 10, 10, (10.0 + gap, 0.0, 0.0)).triangles)) == found


def test_faces_that_look_the_same_way_do_not_touch():
    """A box inside another, their lids in one plane: no face is against another."""
    assert touches(box(10, 10, 10).triangles, box(4, 4, 4, (3.0, 3.0, 6.0)).triangles) == []


def test_a_step_counts_with_both_of_its_faces():
    """A box in the corner of two others touches 10 x 10 below and 10 x 10 beside."""
    corner = np.concatenate([box(20, 10, 5).triangles, box(5, 10, 10, (-5.0, 0.0, 5.0)).triangles])
    met = touches(corner, box(10, 10, 10, (0.0, 0.0, 5.0)).triangles)
    assert sorted(face.area_mm2 for face in met) == pytest.approx([100.0, 100.0])


def test_end_faces_of_round_bodies():
    """A tube section of 20 mm on one of 16 mm: the smaller end, a polygon of 96 sides."""
    upper = cylinder(16.0, 10.0).triangles + np.array([0.0, 0.0, 12.0])
    (met,) = touches(cylinder(20.0, 12.0).triangles, upper)
    assert met.area_mm2 == pytest.approx(96 / 2 * 8.0**2 * np.sin(2 * np.pi / 96))


def test_far_bodies_are_told_apart_at_once():
    """Boxes that do not meet have no face in common."""
    assert touches(box(1, 1, 1).triangles, box(1, 1, 1, (9.0, 9.0, 9.0)).triangles) == []
