"""Stations from stacks, from assembly positions and from numbers."""

from __future__ import annotations

import math

import pytest

from planner.budget.stations import in_mesh_axes, stations
from planner.geometry.pose import about_axis
from planner.model.airframe import StackPlace
from tests.unit.budget.samples import airframe, deposit, part, pieces

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
    """At 100 mm along, 45 degrees of sweep move 100 mm aft and 30 degrees of dihedral 50 mm up."""
    plane = airframe(
        part("w", stack=("wing", 1), hand="right"),
        stacks=(StackPlace("wing", 0.0, "across", sweep_deg=45.0, dihedral_deg=30.0),),
    )
    place = places(plane, deposit("w", 1.0, 200.0, in_mesh=(7.0, 0.0, 0.0)))["w"]
    assert place.station_mm == pytest.approx(107.0)
    assert place.up_mm == pytest.approx(50.0)
    assert place.across_mm == pytest.approx(100.0 * math.cos(math.radians(30.0)))


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


@pytest.mark.parametrize("axis", [(1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)])
@pytest.mark.parametrize("turn", [90.0, 180.0, 270.0])
def test_a_lying_part_keeps_its_own_axes(axis, turn):
    """A box of 30 x 20 x 100 with its centroid at (12, 9, 40), printed on any face, is found again."""
    pose = about_axis(axis, turn)
    extents = abs(pose.matrix) @ [30.0, 20.0, 100.0]
    centroid = pose.matrix @ [12.0, 9.0, 40.0]
    low = (pose.matrix @ [[0, 30, 0, 0, 30], [0, 0, 20, 0, 20], [0, 0, 0, 100, 100]]).min(axis=1)
    lying = deposit("a", 1.0, pose=pose, extents=tuple(extents), centroid=tuple(centroid - low))
    box, local = in_mesh_axes(lying)
    assert box == pytest.approx([30.0, 20.0, 100.0])
    assert local == pytest.approx([12.0, 9.0, 40.0])


def test_a_slanting_part_is_not_stacked_blindly():
    """Printed at 45 degrees the height along the stack is not known: no station."""
    plane = airframe(part("a", stack=("hull", 1)))
    assert places(plane, deposit("a", 1.0, pose=about_axis((1.0, 0.0, 0.0), 45.0))) == {}
