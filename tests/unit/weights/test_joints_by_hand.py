"""Faces between neighbours: how much is deposited there, and where their middle is, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.geometry.mesh.pose import UPRIGHT, about_axis
from planner.model.airframe import Fitting, StackPlace
from planner.model.assembly import Contact
from planner.model.deposit import Layers
from planner.model.part import Stack
from planner.weights.fastened import fastened_by
from planner.weights.joints import JointFace, face_share, joint_faces, rows_of
from tests.unit.weights.samples import airframe, deposit, part, pieces

DOWN, ASIDE = about_axis((1.0, 0.0, 0.0), 180.0), about_axis((1.0, 0.0, 0.0), 90.0)


def skin(name: str, low: float = 100.0, high: float = 40.0, shares=(0.5, 0.25), support: float = 0.0, **more):
    """Two layers of 20 and 80 mm: sections ``low`` and ``high``, of which shares are deposited."""
    heights, area = np.array([20.0, 80.0]), np.array([low, high])
    zero, one = np.zeros(2), np.ones(2)
    laid = area * heights * np.array(shares)
    layers = Layers(heights.cumsum(), area, one, laid, zero, zero.copy(), zero + support, one.copy())
    return replace(deposit(name, 40.0, 100.0, **more), layers=layers)


@pytest.mark.parametrize(
    ("pose", "outward", "z", "share"),
    [
        (UPRIGHT, -1.0, 0.0, 0.5),  # the first layer
        (UPRIGHT, -1.0, 0.99, 0.5),
        (UPRIGHT, -1.0, 1.0, 1.0),  # a millimetre up it is an inner face
        (UPRIGHT, 1.0, 100.0, 0.25),  # the last layer
        (UPRIGHT, 1.0, 99.01, 0.25),
        (UPRIGHT, 1.0, 99.0, 1.0),
        (DOWN, -1.0, 0.0, 0.25),  # head down, the foot of the mesh is printed last
        (DOWN, 1.0, 100.0, 0.5),
        (ASIDE, 1.0, 100.0, 1.0),  # on its side every face along z is a wall
    ],
)
def test_how_much_of_a_face_is_deposited(pose, outward, z, share):
    """Ends of an open piece show what their layer lays of its section; all other faces are whole."""
    found = skin("a", centroid=(5.0, 5.0, 50.0), in_mesh=(5.0, 5.0, 50.0), pose=pose, support=7.0)
    assert face_share(found, np.array([0.0, 0.0, outward]), np.array([5.0, 5.0, z])) == pytest.approx(share)


def test_faces_of_a_mesh_that_lies_elsewhere():
    """The mesh begins at (30, 40, 70), on its side about x: y looks up, 40 to 50 mm."""
    found = skin("a", in_mesh=(35.0, 45.0, 120.0), centroid=(5.0, 5.0, 50.0), pose=ASIDE)
    up = np.array([0.0, 0.0, 1.0]) @ ASIDE.matrix  # what looks up once it is turned
    top, bottom = np.array([35.0, 50.0, 120.0]), np.array([35.0, 40.0, 120.0])
    if up[1] < 0.0:
        top, bottom = bottom, top
    assert face_share(found, up, top) == pytest.approx(0.25)
    assert face_share(found, up, bottom) == 1.0
    assert face_share(found, -up, bottom) == pytest.approx(0.5)


def test_no_more_than_all_is_deposited_and_nothing_of_nothing():
    """A bead that swells over its section does not make the face larger; a section of nothing shows none."""
    ends = np.array([0.0, 0.0, -1.0]), np.array([5.0, 5.0, 0.0])
    assert face_share(skin("a", shares=(1.3, 0.25), in_mesh=(5, 5, 50)), *ends) == 1.0
    assert face_share(skin("a", low=0.0, in_mesh=(5, 5, 50)), *ends) == 0.0
    assert face_share(skin("a", low=0.04, in_mesh=(5, 5, 50)), *ends) == pytest.approx(0.5)


def test_one_layer_is_first_and_last():
    """A piece of one layer: both ends show its share."""
    found = deposit("a", 1.0, 100.0, in_mesh=(5.0, 5.0, 50.0))
    shared = replace(found, layers=replace(found.layers, area_mm2=np.array([20.0])))  # 1000 of 2000 mm3
    assert face_share(shared, np.array([0.0, 0.0, -1.0]), np.array([5.0, 5.0, 0.0])) == pytest.approx(0.5)
    assert face_share(shared, np.array([0.0, 0.0, 1.0]), np.array([5.0, 5.0, 100.0])) == pytest.approx(0.5)


def hull(direction: str = "aft", **more: object):
    return airframe(
        part("a", stack=("hull", 1)),
        part("b", stack=("hull", 2)),
        stacks=(StackPlace("hull", -20.0, direction, across_mm=6.0, up_mm=7.0),),
        **more,
    )


def test_a_joint_of_a_hull_by_hand():
    """a ends with 40 mm2 of which a quarter is laid: 10 mm2; b begins with 50. The joint is at -20 + 100, and
    in the middle of b's foot, which is drawn about its axis: 2 mm to one side, 1 mm up."""
    plane = hull()
    found = {
        "a": skin("a", in_mesh=(5, 5, 50)),
        "b": skin("b", in_mesh=(1.0, 2.0, 50), centroid=(5.0, 5.0, 50.0)),
    }
    (face,) = joint_faces(plane, plane.parts, found, pieces(plane))
    assert (face.pieces, face.sides) == (("b",), (("a",), ("b",)))
    assert (face.area_mm2, face.station_mm) == pytest.approx((10.0, 80.0))
    # mesh up is y: y of the mesh looks up, and x to a side
    assert face.up_mm == pytest.approx(7.0 + 2.0)
    assert abs((face.across_mm or 0.0) - 6.0) == pytest.approx(1.0)


def test_a_joint_of_parts_on_their_side_is_the_smaller_end():
    """50 mm2 at the first layer, 10 at the last: 10, whichever way it lies."""
    plane = hull("forward")
    for a, b in ((ASIDE, UPRIGHT), (UPRIGHT, ASIDE), (ASIDE, ASIDE), (DOWN, DOWN)):
        found = {"a": skin("a", pose=a, in_mesh=(5, 5, 50)), "b": skin("b", pose=b, in_mesh=(5, 5, 50))}
        (face,) = joint_faces(plane, plane.parts, found, pieces(plane))
        assert face.area_mm2 == pytest.approx(10.0)
        assert face.station_mm == pytest.approx(-120.0)
    larger = {"a": skin("a", pose=DOWN, in_mesh=(5, 5, 50)), "b": skin("b", in_mesh=(5, 5, 50))}
    (face,) = joint_faces(plane, plane.parts, larger, pieces(plane))
    assert face.area_mm2 == pytest.approx(50.0)  # foot of b on the first layer of a


def wing(**more: object):
    return airframe(
        part("in", stack=("wing", 1), hand="left", mirror=True),
        part("out", stack=("wing", 2), hand="left", mirror=True),
        stacks=(StackPlace("wing", 10.0, "across", across_mm=30.0, up_mm=5.0),),
        **more,
    )


def test_joints_of_a_wing_lie_on_both_sides():
    """100 mm outside of 30, left and right; 25 mm aft of 10, the middle of the outer panel's chord."""
    plane = wing()
    found = {
        n: skin(n, in_mesh=(25.0, 0.0, 50.0), centroid=(25.0, 5.0, 50.0), extents=(50.0, 10.0, 100.0))
        for n in ("in", "out")
    }
    faces = joint_faces(plane, plane.parts, found, pieces(plane))
    assert [(f.pieces, f.sides) for f in faces] == [
        (("out L",), (("in L",), ("out L",))),
        (("out R",), (("in R",), ("out R",))),
    ]
    assert [f.station_mm for f in faces] == pytest.approx([35.0, 35.0])
    assert [f.across_mm for f in faces] == pytest.approx([-130.0, 130.0])
    assert [f.up_mm for f in faces] == pytest.approx([5.0, 5.0])


def test_faces_that_touch_win_over_the_ends():
    """Two faces of 30 and 10 mm2 at 100 and 140 between the same hands: 22 mm2 are glued, at 110."""
    plane = wing()
    found = {"in": skin("in"), "out": skin("out")}
    contacts = (
        Contact(("in L", "out L"), 30.0, 15.0, 100.0, -8.0, 2.0),
        Contact(("in R", "out R"), 30.0, 15.0, 100.0, 8.0, None),
        Contact(("in L", "in R"), 40.0, 20.0, 60.0, 0.0, 1.0),
    )
    faces = joint_faces(plane, plane.parts, found, pieces(plane), contacts)
    assert faces == (
        JointFace(("out L",), 15.0, 100.0, (("in L",), ("out L",)), -8.0, 2.0),
        JointFace(("out R",), 15.0, 100.0, (("in R",), ("out R",)), 8.0, None),
        JointFace(("in L", "in R"), 20.0, 60.0, (("in L",), ("in R",)), 0.0, 1.0),
    )


def test_a_side_that_is_not_known_is_not_told():
    """A wing of no hand: nobody knows on which side its joint lies, met or not."""
    plane = airframe(
        part("in", stack=("wing", 1)),
        part("out", stack=("wing", 2)),
        stacks=(StackPlace("wing", 10.0, "across"),),
    )
    found = {"in": skin("in"), "out": skin("out")}
    (face,) = joint_faces(plane, plane.parts, found, pieces(plane))
    assert face.across_mm is None
    (face,) = joint_faces(
        plane, plane.parts, found, pieces(plane), (Contact(("in", "out"), 30.0, 15.0, 100.0, -8.0, 2.0),)
    )
    assert (face.across_mm, face.up_mm) == (None, 2.0)


def test_several_pieces_of_one_order_meet_together():
    """30 mm2 at 100 and 10 mm2 at 140: the face is at 110, 12 mm2 of it glued; one side unknown, no side."""
    plane = airframe(
        part("in", stack=("hull", 1)),
        part("up", stack=("hull", 2)),
        part("down", stack=("hull", 2)),
        stacks=(StackPlace("hull"),),
    )
    found = {n: skin(n) for n in ("in", "up", "down")}
    contacts = (
        Contact(("in", "up"), 30.0, 9.0, 100.0, 4.0, 8.0),
        Contact(("in", "down"), 10.0, 3.0, 140.0, 8.0, None),
    )
    (face,) = joint_faces(plane, plane.parts, found, pieces(plane), contacts)
    assert (face.area_mm2, face.station_mm, face.across_mm, face.up_mm) == (12.0, 110.0, 5.0, None)
    assert face.pieces == ("up", "down")
    bare = joint_faces(plane, plane.parts, found, pieces(plane))
    assert [f.area_mm2 for f in bare] == pytest.approx([10.0])  # 10 mm2 of "in", 100 of both others


def test_what_is_fastened_is_no_face_also_where_it_touches():
    """Screws join both; a face of theirs that touches is left out, that of others stays."""
    plane = hull(fittings=(Fitting("screw", 1.0, count=4, joins=("a", "b")),))
    found = {"a": skin("a"), "b": skin("b")}
    touch = (Contact(("a", "b"), 30.0, 9.0, 100.0),)
    assert joint_faces(plane, plane.parts, found, pieces(plane), touch) == ()
    assert fastened_by(plane, ("a", "b"), {p.name: p for p in plane.parts}) == "4 x screw"


def test_a_joint_whose_mesh_is_not_known_is_left_out():
    """The next one is found all the same."""
    plane = airframe(
        *(part(n, stack=("hull", k)) for k, n in enumerate("abcd")),
        *(part(n, stack=("boom", k)) for k, n in enumerate("xy")),
    )
    found = {n: skin(n) for n in "acdxy"}
    faces = joint_faces(plane, plane.parts, found, pieces(plane))
    assert [f.pieces for f in faces] == [("y",)]  # behind b nobody knows where


def test_rows_hand_by_hand():
    """A centre piece belongs to both hands; pieces of no stack, or of no known part, to none."""
    parts = (
        part("centre", stack=("wing", 0)),
        part("out", stack=("wing", 1), hand="left", mirror=True),
        part("fin"),
    )
    own = pieces(airframe(*parts))
    found = [(name, [[p.name for p in step] for step in row]) for name, row in rows_of(parts, own)]
    assert found == [("wing", [["centre"], ["out L"]]), ("wing", [["centre"], ["out R"]])]
    assert rows_of(parts[2:], own) == []


def loose(name: str, order: int, *, detachable: bool = True, row: str = "wing"):
    return replace(part(name), stack=Stack(row, order, detachable=detachable))


def test_what_detaches_by_its_place_in_the_stack():
    """It comes off from what lies before it; the first of a stack from what it touches elsewhere."""
    in_, out, tip = loose("in", 1), loose("out", 2), loose("tip", 3, detachable=False)
    hull_ = part("hull")
    plane = airframe(in_, out, tip, hull_)
    parts = {p.name: p for p in plane.parts}
    assert fastened_by(plane, ("in", "out"), parts) == ""
    assert fastened_by(plane, ("out", "tip"), parts) is None  # the tip stays on it
    assert fastened_by(plane, ("in", "hull"), parts) == ""
    assert fastened_by(plane, ("out", "hull"), parts) is None  # not the first of its stack
    assert fastened_by(plane, ("hull", "tip"), parts) is None
    assert fastened_by(plane, ("hull", "?"), parts) is None


def test_parts_of_one_order_are_glued_to_each_other():
    """Two halves of a detachable wing at the same place in it."""
    plane = airframe(loose("up", 2), loose("down", 2), loose("in", 1))
    assert fastened_by(plane, ("up", "down"), {p.name: p for p in plane.parts}) is None


def test_fittings_hold_what_they_join():
    """One of it is named alone; of an option that is not chosen it holds nothing; nor less than it joins."""
    tube = Fitting("tube", 9.0, joins=("a", "b", "c"))
    plane = airframe(part("a"), part("b"), part("c"), part("d"), fittings=(tube,))
    parts = {p.name: p for p in plane.parts}
    assert fastened_by(plane, ("a", "c"), parts) == "tube"
    assert fastened_by(plane, ("a", "d"), parts) is None
    assert fastened_by(plane, ("a", "a"), parts) is None
    unchosen = replace(
        plane,
        fittings=(replace(tube, option=("gear", "skid")),),
        options={"gear": "wheels"},
        choices={"gear": ("skid", "wheels")},
    )
    assert fastened_by(unchosen, ("a", "c"), parts) is None


def test_what_comes_off_with_others_is_not_glued_to_any_of_them():
    """Up comes off from a, and down beside it with it: the face of a and down is no glued one either."""
    plane = airframe(
        part("a", stack=("hull", 1)), loose("up", 2, row="hull"), part("down", stack=("hull", 2))
    )
    found = {n: skin(n) for n in ("a", "up", "down")}
    touch = (Contact(("a", "down"), 30.0, 9.0, 100.0), Contact(("up", "down"), 8.0, 4.0, 120.0))
    faces = joint_faces(plane, plane.parts, found, pieces(plane), touch)
    assert [f.sides for f in faces] == [(("up",), ("down",))]
