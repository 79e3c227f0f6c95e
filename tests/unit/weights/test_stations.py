"""Stations from stacks, from assembly positions and from numbers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.geometry.mesh.pose import about_axis
from planner.model.airframe import StackPlace
from planner.model.axes import Axes
from planner.model.budget import Place
from planner.weights.stations import seat, stations
from tests.unit.weights.samples import airframe, deposit, part, pieces

NEAR_MM = 1e-9


def places(plane, *deposits):
    return stations(plane, plane.parts, {d.part: d for d in deposits}, pieces(plane))


def test_aft_stack_by_hand():
    """Heights 100 and 50 behind a start at -200: centroids 40 and 30 up sit at -160 and -70."""
    plane = airframe(
        part("b", stack=("hull", 2)), part("a", stack=("hull", 1)), stacks=(StackPlace("hull", -200.0),)
    )
    found = places(
        plane,
        deposit("a", 1.0, 100.0, centroid=(5, 5, 40)),
        deposit("b", 1.0, 50.0, centroid=(5, 5, 30)),
    )
    assert found["a"].station_mm == pytest.approx(-160.0, abs=NEAR_MM)
    assert found["b"].station_mm == pytest.approx(-70.0, abs=NEAR_MM)


def test_forward_stack_by_hand():
    """A nose that is stacked forward from station 20 runs to smaller stations: 20 - 100 - 25 = -105."""
    plane = airframe(
        part("a", stack=("nose", 1)),
        part("b", stack=("nose", 2)),
        stacks=(StackPlace("nose", 20.0, "forward"),),
    )
    found = places(plane, deposit("a", 1.0, 100.0), deposit("b", 1.0, 50.0))
    assert found["a"].station_mm == pytest.approx(-30.0)
    assert found["b"].station_mm == pytest.approx(-105.0)


def test_across_stack_takes_the_chordwise_centroid():
    """A wing panel 62 mm aft in its own mesh, root at 10: both hands at 72, 140 mm left and right."""
    plane = airframe(
        part("in", stack=("wing", 1), hand="left", mirror=True),
        part("out", stack=("wing", 2), hand="left", mirror=True),
        stacks=(StackPlace("wing", 10.0, "across", across_mm=30.0),),
    )
    found = places(
        plane,
        deposit("in", 1.0, 80.0, in_mesh=(60.0, 3.0, 40.0)),
        deposit("out", 1.0, 60.0, in_mesh=(62.0, 3.0, 30.0)),
    )
    assert found["out L"].station_mm == found["out R"].station_mm == pytest.approx(72.0)
    assert found["out L"].across_mm == pytest.approx(-(30.0 + 80.0 + 30.0))
    assert found["out R"].across_mm == pytest.approx(140.0)


def test_sweep_and_dihedral_by_hand():
    """A foot 100 mm along sits 100 mm aft at 45 degrees; 30 degrees of dihedral lift 150 mm by 75."""
    plane = airframe(
        part("in", stack=("wing", 1), hand="right"),
        part("w", stack=("wing", 2), hand="right"),
        stacks=(StackPlace("wing", 0.0, "across", sweep_deg=45.0, dihedral_deg=30.0),),
    )
    place = places(plane, deposit("in", 1.0, 100.0), deposit("w", 1.0, 100.0, in_mesh=(7.0, 0.0, 0.0)))["w"]
    assert place.station_mm == pytest.approx(107.0)
    assert place.up_mm == pytest.approx(75.0)
    assert place.across_mm == pytest.approx(150.0 * math.cos(math.radians(30.0)))


def test_parts_of_one_order_share_a_place():
    """Two half shells of order 1 stand side by side; the next part begins above the taller one."""
    plane = airframe(
        part("left half", stack=("hull", 1)),
        part("right half", stack=("hull", 1)),
        part("c", stack=("hull", 2)),
    )
    found = places(
        plane, deposit("left half", 1.0, 90.0), deposit("right half", 1.0, 100.0), deposit("c", 1.0, 20.0)
    )
    assert found["left half"].station_mm == pytest.approx(45.0)
    assert found["right half"].station_mm == pytest.approx(50.0)
    assert found["c"].station_mm == pytest.approx(110.0)


def test_what_stands_behind_an_unread_mesh_is_not_guessed():
    """When the mesh of order 1 was set aside, order 2 has no station."""
    plane = airframe(part("a", stack=("hull", 1)), part("b", stack=("hull", 2)))
    assert places(plane, deposit("b", 1.0)) == {}


def test_a_number_counts_where_no_stack_is():
    """A given station is taken as it is; without one the piece stays unplaced."""
    plane = airframe(part("a", station_mm=12.5), part("b"))
    found = places(plane, deposit("a", 1.0), deposit("b", 1.0))
    assert found["a"].station_mm == 12.5
    assert "b" not in found


def test_assembly_position_comes_first():
    """Meshes drawn in place give x, y, z; the mirrored piece sits on the other side."""
    plane = airframe(part("w", hand="right", mirror=True, station_mm=1.0), in_assembly_position=True)
    found = places(plane, deposit("w", 1.0, in_mesh=(70.0, 200.0, 9.0)))
    assert (found["w R"].station_mm, found["w R"].across_mm, found["w R"].up_mm) == (70.0, 200.0, 9.0)
    assert found["w L"].across_mm == -200.0


def test_axes_of_the_airframe_turn_what_is_drawn_in_place():
    """Aft along y, z up: (70, 200, 9) is 200 aft, 70 to the left, 9 up; its mirror image to the right."""
    plane = airframe(part("w", hand="left", mirror=True), in_assembly_position=True, axes=Axes("y", "z"))
    found = places(plane, deposit("w", 1.0, in_mesh=(70.0, 200.0, 9.0)))
    assert (found["w L"].station_mm, found["w L"].across_mm, found["w L"].up_mm) == (200.0, -70.0, 9.0)
    assert (found["w R"].station_mm, found["w R"].across_mm, found["w R"].up_mm) == (200.0, 70.0, 9.0)


def test_a_part_of_copies_keeps_its_own_station_in_assembly_position():
    """The mesh shows one place only, so a station that is given for several copies counts."""
    plane = airframe(part("hinge", copies=2, station_mm=90.0), part("w"), in_assembly_position=True)
    found = places(plane, deposit("hinge", 1.0, in_mesh=(5.0, 0.0, 0.0)), deposit("w", 1.0))
    assert found["hinge 1"].station_mm == found["hinge 2"].station_mm == 90.0


def test_a_mesh_that_stands_off_the_others_has_no_seat():
    """It is unplaced, unless a station is given: then that counts."""
    plane = airframe(
        part("jig"), part("hook", station_mm=70.0), part("w"),
        in_assembly_position=True, out_of_place=("jig.stl", "hook.stl"),
    )  # fmt: skip
    assert {p.mesh for p in plane.parts} == {"jig.stl", "hook.stl", "w.stl"}
    made = [deposit(name, 1.0, in_mesh=(5.0, 6.0, 7.0)) for name in ("jig", "hook", "w")]
    found = places(plane, *made)
    assert {name: place.station_mm for name, place in found.items()} == {"hook": 70.0, "w": 5.0}


def test_the_pose_in_which_a_part_is_printed_does_not_move_it():
    """A part that is printed at a slant has the box of its mesh in its stack: 100 + 40 up."""
    plane = airframe(part("a", stack=("hull", 1)), part("b", stack=("hull", 2)))
    slant = deposit("a", 1.0, 100.0, pose=about_axis((1.0, 0.0, 0.0), 35.0))
    found = places(plane, slant, deposit("b", 1.0, 80.0))
    assert found["b"].station_mm == pytest.approx(140.0)


def test_incidence_by_hand():
    """30 degrees: a point 100 mm aft of the root leading edge sits at 86.6 mm and 50 mm lower."""
    plane = airframe(
        part("w", stack=("wing", 1), hand="left", mirror=True),
        stacks=(StackPlace("wing", 10.0, "across", incidence_deg=30.0),),
    )
    found = places(plane, deposit("w", 1.0, 200.0, in_mesh=(100.0, 0.0, 0.0)))
    for side, sign in (("w L", -1.0), ("w R", 1.0)):
        assert found[side].station_mm == pytest.approx(10.0 + 100.0 * math.cos(math.radians(30.0)))
        assert found[side].up_mm == pytest.approx(-50.0)
        assert found[side].across_mm == pytest.approx(sign * 100.0)


@pytest.mark.parametrize("direction", ["aft", "forward", "across"])
@pytest.mark.parametrize("hand", ["left", "right", "none"])
@pytest.mark.parametrize("mesh_up", ["x", "y"])
def test_a_seat_turns_and_does_not_distort(direction, hand, mesh_up):
    """Lengths are kept, a mesh is never turned inside out, and only mirrored pieces are mirrored."""
    row = StackPlace("s", 5.0, direction, 3.0, 2.0, 20.0, 10.0, 4.0, mesh_up)
    for mirrored, sign in ((False, 1.0), (True, -1.0)):
        turn, _ = seat(row, 50.0, part("a", hand=hand), mirrored=mirrored)
        assert turn @ turn.T == pytest.approx(np.eye(3), abs=NEAR_MM)
        assert np.linalg.det(turn) == pytest.approx(sign)
    along = turn[:, 2] * [1.0, -1.0, 1.0]  # of the unmirrored piece
    if direction != "across":
        assert along == pytest.approx([1.0 if direction == "aft" else -1.0, 0.0, 0.0])
        assert turn[2, 0 if mesh_up == "x" else 1] == pytest.approx(1.0)
    else:
        assert np.sign(along[1]) == (-1.0 if hand == "left" else 1.0)
        assert turn[0, 0] > 0.9


def test_a_hull_drawn_from_its_corner_is_centred_on_its_axis():
    """A mesh whose box does not hold the axis is shifted onto it; one that does keeps its offset."""
    plane = airframe(part("a", stack=("hull", 1)), stacks=(StackPlace("hull", up_mm=7.0),))
    corner = replace(
        deposit("a", 1.0, in_mesh=(32.0, 24.0, 50.0)),
        mesh_low_mm=(1.0, 1.0, 0.0),
        mesh_extents_mm=(60.0, 40.0, 100.0),
    )
    assert places(plane, corner)["a"] == Place(50.0, 1.0, 10.0, "stack hull")
    about = replace(corner, centroid_in_mesh_mm=(0.0, 3.0, 50.0), mesh_low_mm=(-30.0, -20.0, 0.0))
    assert places(plane, about)["a"] == Place(50.0, 0.0, 10.0, "stack hull")
