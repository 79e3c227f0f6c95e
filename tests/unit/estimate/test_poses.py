"""Poses of parts for which it is plain how they should stand."""

import dataclasses

import numpy as np
import pytest

from planner.estimate.poses.pose_cost import fit_on, overhang_room
from planner.estimate.poses.poses import choose_pose
from planner.geometry.mesh.pose import Pose, about_axis, stand
from planner.geometry.mesh.resting import facets
from planner.geometry.planar.polygon import enclosing_circle
from planner.model.part import Part
from planner.model.printer import Bed, Printer
from planner.model.recipe import Recipe
from tests import builders

SMALL = Printer("small", "small", Bed(width_mm=120.0, depth_mm=120.0, margin_mm=5.0), clear_height_mm=150.0)
ROUND = Printer("round", "round", Bed("round", 120.0, 120.0, margin_mm=5.0), clear_height_mm=150.0)
PART = Part("rib", "rib.stl", "wing", Recipe("plain"), "PLA")
FREE = dataclasses.replace(PART, may_turn=True)


def test_modelled_pose_stays():
    """A part that fits and may not turn stands as modelled, however badly."""
    plate_on_edge = builders.box(2.0, 60.0, 90.0)
    choice = choose_pose(plate_on_edge, PART, [SMALL])
    assert choice.pose == PART.pose
    assert choice.reason == "as modelled"


def test_too_tall_is_laid_down():
    """A part of 160 mm height fits no bed until it lies on a long face."""
    choice = choose_pose(builders.box(20.0, 30.0, 160.0), PART, [SMALL])
    # 160 mm does not fit along the bed of 110 mm; on the diagonal it would need 177
    assert choice.pose == PART.pose
    assert "fit" in choice.reason
    lain = choose_pose(
        builders.box(20.0, 30.0, 105.0), PART, [dataclasses.replace(SMALL, clear_height_mm=100.0)]
    )
    low = stand(builders.box(20.0, 30.0, 105.0), lain.pose)
    assert low.extents[2] <= 30.0 + 1e-9
    assert "5.0 mm too tall for small" in lain.reason


def test_plate_that_may_turn_lies_flat():
    """A plate drawn on its edge is laid on its face when it may turn: lower and quicker."""
    choice = choose_pose(builders.box(4.0, 60.0, 90.0), FREE, [SMALL])
    assert stand(builders.box(4.0, 60.0, 90.0), choice.pose).extents[2] == pytest.approx(4.0)
    assert "lower" in choice.reason
    assert len(choice.compared) >= 5


def test_cup_is_turned_to_need_no_support():
    """A cone drawn tip down hangs over all around; it is turned onto its base."""
    cone = stand(builders.cone(60.0, 20.0), about_axis((1.0, 0.0, 0.0), 180.0))
    choice = choose_pose(cone, FREE, [SMALL])
    up = stand(cone, choice.pose)
    assert np.ptp(up.triangles[:, :, 2]) == pytest.approx(20.0, abs=1e-6)
    assert "100 % less under steep overhangs" in choice.reason


def test_good_pose_is_not_turned_for_nothing():
    """A cube has no better face; it stays as modelled."""
    choice = choose_pose(builders.box(20.0, 20.0, 20.0), FREE, [SMALL])
    assert choice.pose == FREE.pose


def test_same_part_drawn_turned_ends_up_alike():
    """The choice follows the body, not the file: a plate drawn askew is laid flat all the same."""
    askew = stand(builders.box(4.0, 60.0, 90.0), about_axis((1.0, 1.0, 0.3), 50.0))
    flat = stand(askew, choose_pose(askew, FREE, [SMALL]).pose)
    assert sorted(flat.extents) == pytest.approx([4.0, 60.0, 90.0], abs=0.8)  # one degree of turn


def test_overhang_room_of_a_table():
    """A slab of 40 x 40 mm, 10 mm up, has 16 cm3 under it less where its leg stands."""
    leg, slab = builders.box(10.0, 10.0, 10.0), builders.box(40.0, 40.0, 5.0, (-15.0, -15.0, 10.0))
    room = overhang_room(facets(builders.joined(leg, slab)), np.array([0.0, 0.0, 1.0]), 0.0, PART.recipe)
    assert room == pytest.approx(40.0 * 40.0 * 10.0)  # columns on the leg count whole, as stated


def test_fit_on_round_and_square_beds():
    """A square of 80 mm has a circle of 113.1 mm: it fits the square of 110 mm but not the circle."""
    rim = np.array([[0.0, 0.0], [80.0, 0.0], [80.0, 80.0], [0.0, 80.0]])
    assert enclosing_circle(rim)[1] == pytest.approx(40.0 * np.sqrt(2.0))
    assert fit_on(SMALL, rim, 10.0, 0.0) == (True, "")
    assert fit_on(SMALL, rim, 10.0, 16.0)[0] is False
    assert fit_on(ROUND, rim, 10.0, 0.0) == (False, "3.1 mm too wide for round")


def test_locked_pose_of_the_part_is_the_modelled_one():
    """The pose in the airframe file counts as the modelled pose."""
    down = Pose(about_axis((1.0, 0.0, 0.0), 90.0).rotation)
    part = dataclasses.replace(PART, pose=down)
    choice = choose_pose(builders.box(20.0, 30.0, 140.0), part, [SMALL])
    assert choice.pose != down
    assert stand(builders.box(20.0, 30.0, 140.0), choice.pose).extents[2] == pytest.approx(140.0)


def test_a_tube_drawn_lying_stands_on_its_end():
    """24 sides of 8 cm2 each and two ends of 3 cm2: upright nothing hangs."""
    lying = stand(builders.tube(64.0, 61.0, 100.0, n=24), about_axis((0.0, 1.0, 0.0), 90.0))
    choice = choose_pose(lying, FREE, [Printer("desk", "desk")])
    turned = next(one for one in choice.compared if one.pose == choice.pose)
    assert turned.support_mm3 == 0.0
    assert turned.height_mm == pytest.approx(100.0)
