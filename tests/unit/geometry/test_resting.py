"""Faces to rest on, of bodies whose faces are known."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.geometry.mesh.pose import UPRIGHT, about_axis, stand
from planner.geometry.mesh.resting import facets, foot, outermost, plane, pose_down, resting_feet, widths
from tests import builders


def test_box_rests_on_six_faces():
    """A box of 10 x 20 x 30 mm rests on each face; the largest foot comes first, with half its short side."""
    feet = resting_feet(facets(builders.box(10.0, 20.0, 30.0)))
    assert [f.area for f in feet] == pytest.approx([600.0, 600.0, 300.0, 300.0, 200.0, 200.0])
    assert [f.radius for f in feet] == pytest.approx([10.0, 10.0, 5.0, 5.0, 5.0, 5.0])


def test_leaning_prism_tips_over():
    """A prism that leans out beyond its foot does not stand on it."""
    low = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    leaning = builders.lofted(low, low + np.array([40.0, 0.0]), 30.0)
    body = facets(leaning)
    assert foot(body, np.array([0.0, 0.0, -1.0])).radius == pytest.approx(-15.0, rel=1e-6)
    assert all(abs(f.down[2]) < 0.99 for f in resting_feet(body))


def test_ball_has_no_flat_foot():
    """A sphere of many facets has no foot worth the name."""
    assert max(f.area for f in resting_feet(facets(builders.sphere(40.0)))) < 20.0


def test_turned_box_keeps_its_faces():
    """The faces of a body do not depend on how it was turned."""
    turned = stand(builders.box(10.0, 20.0, 30.0), about_axis((1.0, 2.0, 0.5), 37.0))
    assert [round(f.area) for f in resting_feet(facets(turned))] == [600, 600, 300, 300, 200, 200]


@pytest.mark.parametrize("degrees", [0.0, 37.0])
def test_a_faceted_tube_rests_on_its_ends(degrees: float) -> None:
    """Its 24 sides are larger each than the ring of an end; the ends stand broadest, however it is drawn."""
    tube = builders.tube(64.0, 61.0, 100.0, n=24)
    turn = about_axis((1.0, 2.0, 0.5), degrees)
    feet = resting_feet(facets(stand(tube, turn)))
    ring = 24 * 0.5 * np.sin(2 * np.pi / 24) * (32.0**2 - 30.5**2)  # of two regular polygons
    ends = [f for f in feet if f.area == pytest.approx(ring, rel=1e-3)]
    axis = turn.matrix @ np.array([0.0, 0.0, 1.0])
    assert sorted(round(float(f.down @ axis), 6) for f in ends) == [-1.0, 1.0]
    assert all(f.radius == pytest.approx(32.0 * np.cos(np.pi / 24), rel=0.01) for f in ends)
    assert len(feet) <= 18


def test_own_bottom_is_no_turn():
    """A body that rests as it was drawn keeps its x and y."""
    assert pose_down(np.array([0.0, 0.0, -1.0])) == UPRIGHT


@given(
    st.tuples(*[st.floats(-1.0, 1.0)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1), st.floats(0.0, 360.0)
)
def test_pose_puts_the_direction_down(direction, turn):
    """Whatever points down in the mesh points down on the bed, in a proper rotation."""
    down = np.array(direction) / np.linalg.norm(direction)
    pose = pose_down(down, turn)
    assert pose.matrix @ down == pytest.approx([0.0, 0.0, -1.0], abs=1e-9)
    assert plane(down) @ down == pytest.approx([0.0, 0.0], abs=1e-9)


def test_widths_of_a_turned_square():
    """A unit square turned by 45 degrees is sqrt(2) wide."""
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    assert widths(square, np.array([0.0, 45.0])) == pytest.approx(
        np.array([[1.0, 1.0], [np.sqrt(2.0), np.sqrt(2.0)]])
    )


def test_outermost_points_keep_the_extents():
    """The few outermost points have the extents of all, at whole degrees to the last digit."""
    points = np.random.default_rng(3).normal(0.0, 30.0, (50_000, 2))
    few = outermost(points)
    assert len(few) < 720
    turns = np.arange(0.0, 180.0, 7.0)
    assert widths(few, turns) == pytest.approx(widths(points, turns), rel=1e-12)
