"""Seats and stations piece by piece: what is known of a place, and how it was found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.geometry.mesh.outer import OuterSurface
from planner.model.airframe import Finish, Fitting, StackPlace
from planner.model.axes import Axes
from planner.model.budget import Place
from planner.model.part import Piece
from planner.model.printed import PrintedPiece
from planner.weights.finish_ground import finish_ground
from planner.weights.finish_spots import Painted
from planner.weights.mass import airframe_mass, class_limits
from planner.weights.stations import foot, seat, seats, sided, stack_starts, stations
from tests.unit.weights.samples import FILAMENTS, RECIPE, airframe, deposit, part, pieces

STRANGER = Piece("stranger", "nobody", False)
HULL = StackPlace("hull", -20.0, across_mm=6.0, up_mm=7.0)


def solid(name: str, height: float = 100.0, **more):
    more = {"in_mesh": (3.0, 4.0, 30.0), "centroid": (5.0, 5.0, 30.0), **more}
    return deposit(name, 10.0, height, **more)


def test_each_place_says_how_it_was_found():
    """By a stack, by a number, in assembly position; a stranger and an unread mesh hide nothing."""
    plane = airframe(
        part("unread"),
        part("a", stack=("hull", 1)),
        part("b", station_mm=55.0),
        part("c"),
        stacks=(HULL,),
    )
    found = {n: solid(n) for n in "abc"}
    own = (STRANGER, *pieces(plane))
    told = stations(plane, plane.parts, found, own)
    assert set(told) == {"a", "b"}
    assert told["b"] == Place(55.0)
    assert (told["a"].station_mm, told["a"].found) == (pytest.approx(10.0), "stack hull")
    assert told["a"].up_mm == pytest.approx(7.0 + 4.0)
    assert abs((told["a"].across_mm or 0.0) - 6.0) == pytest.approx(3.0)
    assert set(seats(plane, plane.parts, found, own)) == {"a"}
    drawn = replace(plane, in_assembly_position=True)
    assert stations(drawn, plane.parts, found, own)["c"] == Place(3.0, 4.0, 30.0, "assembly position")
    assert stations(drawn, plane.parts, found, own)["a"] == Place(3.0, 4.0, 30.0, "assembly position")
    assert set(seats(drawn, plane.parts, found, own)) == {"a", "b", "c"}


QUARTER = (0.0, -1.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0, 1.0, 100.0, 20.0, 5.0)


def test_a_seat_turns_and_shifts_a_mesh_wherever_the_others_are():
    """Before anything else that is known; the mirrored hand sits on the other side."""
    plane = airframe(part("a", seat=QUARTER, mirror=True, hand="left"), part("c"), in_assembly_position=True)
    found = {n: solid(n) for n in "ac"}
    told = stations(plane, plane.parts, found, pieces(plane))
    assert told["a L"] == Place(96.0, 23.0, 35.0, "seat")  # (3, 4, 30) turned a quarter, and shifted
    assert told["a R"] == Place(96.0, -23.0, 35.0, "seat")
    assert told["c"] == Place(3.0, 4.0, 30.0, "assembly position")
    assert sided(plane, plane.parts[0])


def test_copies_that_their_file_places_sit_each_where_it_says():
    """In the axes of the meshes: what runs along y there runs aft here."""
    places = tuple((1.0, 0, 0, 0, 1, 0, 0, 0, 1, 0.0, y, 0.0) for y in (0.0, 200.0))
    rib = part("rib", copies=2, drawn_at=places)
    plane = airframe(rib, in_assembly_position=True, axes=Axes("y", "z"))
    told = stations(plane, plane.parts, {"rib": solid("rib")}, pieces(plane))
    assert [told[f"rib {n}"].station_mm for n in (1, 2)] == pytest.approx([4.0, 204.0])
    assert plane.copies_placed(rib)
    for other in (replace(rib, copies=3), replace(rib, station_mm=5.0)):
        assert not plane.copies_placed(other)
    assert not replace(plane, in_assembly_position=False).copies_placed(rib)


def test_copies_with_a_place_of_their_own_are_not_all_where_the_mesh_is_drawn():
    """Two copies in a stack or at a station take that; two of a part without either lie as drawn."""
    plane = airframe(
        part("a", stack=("hull", 1), copies=2),
        part("b", station_mm=55.0, copies=2),
        part("c", copies=2),
        stacks=(HULL,),
        in_assembly_position=True,
    )
    found = {n: solid(n) for n in "abc"}
    told = stations(plane, plane.parts, found, pieces(plane))
    assert told["a 1"].station_mm == pytest.approx(10.0)
    assert told["b 2"] == Place(55.0)
    assert told["c 1"] == Place(3.0, 4.0, 30.0, "assembly position")


def test_a_mirrored_piece_sits_on_the_other_side():
    """Drawn 4 mm to the right, its other hand is 4 mm to the left."""
    plane = airframe(part("a", hand="right", mirror=True), in_assembly_position=True)
    told = stations(plane, plane.parts, {"a": solid("a")}, pieces(plane))
    assert [place.across_mm for place in told.values()] == [4.0, -4.0]


def test_stacks_without_a_place_begin_at_the_datum():
    """A row that the file does not place runs aft from 0 on the axis."""
    plane = airframe(part("a", stack=("row", 1)), part("b", stack=("row", 2)))
    found = {"a": solid("a"), "b": solid("b", 50.0)}
    told = stations(plane, plane.parts, found, pieces(plane))
    assert [p.station_mm for p in told.values()] == pytest.approx([30.0, 130.0])
    assert all(sided(plane, p) for p in plane.parts)


def test_where_each_part_of_a_stack_begins():
    """Heights 100 and 60 side by side: the next begins at 100, less 5 that a reaches into it; what is printed
    no times, and what is not chosen, stands in no row; behind an unread mesh nothing is known."""
    plane = airframe(
        part("a", stack=("hull", 1), overlap_mm=5.0),
        part("a2", stack=("hull", 1)),
        part("gone", stack=("hull", 2), copies=0),
        part("skid", stack=("hull", 2), option=("gear", "skid")),
        part("b", stack=("hull", 3)),
        part("unread", stack=("hull", 4)),
        part("c", stack=("hull", 5)),
        part("d", stack=("boom", 9)),
        options={"gear": "wheels"},
        choices={"gear": ("skid", "wheels")},
    )
    found = {
        n: solid(n, h)
        for n, h in (("a", 100.0), ("a2", 60.0), ("b", 40.0), ("c", 10.0), ("d", 10.0), ("skid", 30.0))
    }
    chosen = [p for p in plane.parts if plane.chosen(p.option)]
    assert stack_starts(plane, chosen, found) == {
        "a": 0.0, "a2": 0.0, "b": 95.0, "unread": 135.0, "d": 0.0
    }  # fmt: skip


@pytest.mark.parametrize(
    ("low", "direction", "wanted"),
    [
        ((-5.0, -5.0, 2.0), "aft", (0.0, 0.0, 2.0)),  # drawn about its axis
        ((0.0, -10.0, 2.0), "aft", (0.0, 0.0, 2.0)),  # the axis is on its edge
        ((0.1, -5.0, 2.0), "aft", (5.1, 0.0, 2.0)),  # beside it: taken to be centred on it, both ways
        ((-5.0, 0.1, 2.0), "forward", (0.0, 5.1, 2.0)),
        ((-10.1, -5.0, 2.0), "aft", (-5.1, 0.0, 2.0)),
        ((-5.0, -10.1, 2.0), "aft", (0.0, -5.1, 2.0)),
        ((7.0, 7.0, 2.0), "across", (0.0, 0.0, 2.0)),  # a wing is never centred: its root rib is as drawn
    ],
)
def test_the_foot_of_a_mesh(low, direction, wanted):
    """A mesh of 10 x 10 mm: the point of it that comes to lie where its seat begins."""
    row = StackPlace("row", direction=direction)
    assert foot(row, np.array(low), np.array([10.0, 10.0, 50.0])).tolist() == pytest.approx(list(wanted))


@pytest.mark.parametrize(
    ("direction", "hand", "mirrored", "mesh_up", "axes", "shift"),
    [
        # columns: where x, y and z of the mesh look; x aft, y right, z up
        ("aft", "none", False, "y", ((0, 1, 0), (0, 0, 1), (1, 0, 0)), (15, 6, 7)),
        ("aft", "none", False, "x", ((0, 0, 1), (0, -1, 0), (1, 0, 0)), (15, 6, 7)),
        ("forward", "none", False, "y", ((0, -1, 0), (0, 0, 1), (-1, 0, 0)), (5, 6, 7)),
        ("aft", "left", False, "y", ((0, 1, 0), (0, 0, 1), (1, 0, 0)), (15, -6, 7)),
        ("aft", "left", True, "y", ((0, -1, 0), (0, 0, 1), (1, 0, 0)), (15, 6, 7)),
        ("across", "left", False, "y", ((1, 0, 0), (0, 0, 1), (0, -1, 0)), (10, -11, 7)),
        ("across", "right", False, "y", ((1, 0, 0), (0, 0, -1), (0, 1, 0)), (10, 11, 7)),
        ("across", "none", False, "y", ((1, 0, 0), (0, 0, -1), (0, 1, 0)), (10, 11, 7)),
        ("across", "left", True, "y", ((1, 0, 0), (0, 0, 1), (0, 1, 0)), (10, 11, 7)),
    ],
)  # fmt: skip
def test_seats_by_hand(direction, hand, mirrored, mesh_up, axes, shift):
    """5 mm into a stack at (10, 6, 7): which way each axis of the mesh looks, and where its foot lies."""
    row = StackPlace("row", 10.0, direction, across_mm=6.0, up_mm=7.0, mesh_up=mesh_up)
    turn, at = seat(row, 5.0, part("a", hand=hand), mirrored=mirrored)
    assert turn.T.tolist() == pytest.approx(np.array(axes, dtype=float))
    assert at.tolist() == pytest.approx(list(shift))


@pytest.mark.parametrize(
    ("direction", "more", "dihedral", "known"),
    [
        ("across", {}, 0.0, False),
        ("across", {"hand": "left"}, 0.0, True),
        ("across", {"mirror": True}, 0.0, True),
        ("across", {}, 90.0, True),  # a fin has no side
        ("across", {}, -90.0, True),
        ("across", {}, 89.0, False),
        ("aft", {}, 0.0, True),
        ("forward", {}, 0.0, True),
    ],
)
def test_whether_a_side_is_known(direction, more, dihedral, known):
    """Only of a panel that runs across and has no hand nobody knows it, unless it is drawn in place."""
    row = StackPlace("wing", direction=direction, dihedral_deg=dihedral)
    plane = airframe(part("a", stack=("wing", 1), **more), stacks=(StackPlace("other"), row))
    assert sided(plane, plane.parts[0]) is known
    assert sided(replace(plane, in_assembly_position=True), plane.parts[0])
    assert sided(plane, part("b"))


def test_ground_of_paint_by_hand():
    """Outer surface of 200 mm2 about (1, 2, 3) of the mesh: seated, without a side, without a seat."""
    plane = airframe(
        part("a", stack=("hull", 1)),
        part("w", stack=("wing", 1)),
        part("c", copies=2),
        part("b", station_mm=55.0),
        stacks=(HULL, StackPlace("wing", 10.0, "across")),
    )
    found = {n: solid(n, surface=300.0) for n in "awcb"}
    outer = {n: OuterSurface(200.0, (1.0, 2.0, 30.0)) for n in "awb"}
    ground = finish_ground(plane, plane.parts, found, (STRANGER, *pieces(plane)), outer)
    assert ground.surfaces_mm2 == dict.fromkeys(("a", "w", "c 1", "c 2", "b"), 300.0)
    assert set(ground.outer) == {"a", "w", "b"}
    assert ground.outer["b"] == Painted(200.0, None)
    a, w = ground.outer["a"].place, ground.outer["w"].place
    assert (a.station_mm, a.up_mm, a.found) == (pytest.approx(10.0), pytest.approx(9.0), "outer surface")
    assert abs(a.across_mm - 6.0) == pytest.approx(1.0)
    assert (w.station_mm, w.across_mm) == (pytest.approx(11.0), None)
    assert ground.jointed == {"a", "w"}
    drawn = replace(plane, in_assembly_position=True)
    assert finish_ground(drawn, plane.parts, found, pieces(plane), outer).jointed == {"a", "w", "b"}


def printed(piece: str, filament: str, place: Place | None) -> PrintedPiece:
    return PrintedPiece(piece, "bed 1", None, 12.0, 11.0, filament, RECIPE.name, place)


def test_pieces_that_are_there_weigh_as_they_were_printed():
    """a was printed of foam at 77 mm; b of a filament that is gone, so the part's own counts."""
    plane = airframe(
        part("a", station_mm=5.0),
        part("b", station_mm=6.0),
        part("c", station_mm=7.0),
        finish=Finish(0.0, 0.0),
    )
    there = {"a": printed("a", "foam", Place(77.0, 1.0, 2.0)), "b": printed("b", "gone", None)}
    mass = airframe_mass(
        plane, plane.parts, {n: solid(n) for n in "abc"}, pieces(plane), FILAMENTS, there=there
    )
    assert [
        (i.mass_g, i.filament, i.spread, i.spread_shared, i.station_mm, i.across_mm, i.up_mm)
        for i in mass.items
    ] == [
        (11.0, "foam", 0.02, 0.06, 77.0, 1.0, 2.0),
        (11.0, "PLA", 0.01, 0.03, 6.0, None, None),
        (10.0, "PLA", 0.01, 0.03, 7.0, None, None),
    ]
    assert (mass.printed_g, mass.fittings_g, mass.finish_g, mass.total_g) == (32.0, 0.0, 0.0, 32.0)


def test_every_field_of_a_fitting_line():
    """Three of 9 g; spread as given, else 2 %; movable by its word or by its room."""
    given = Fitting("servo", 9.0, 3, 10.0, section="wing", across_mm=1.0, up_mm=2.0, spread=0.1, movable=True)
    roomy = Fitting("pack", 50.0, station_mm=10.0, movable_mm=(0.0, 20.0))
    mass = airframe_mass(airframe(fittings=(given, roomy, Fitting("none", 1.0, 0))), (), {}, (), {})
    servo, pack = mass.items
    assert (servo.what, servo.kind, servo.section, servo.mass_g) == ("servo", "fitting", "wing", 27.0)
    assert (servo.station_mm, servo.across_mm, servo.up_mm) == (10.0, 1.0, 2.0)
    assert (servo.spread, servo.movable, servo.movable_mm) == (0.1, True, None)
    assert (pack.spread, pack.movable, pack.movable_mm) == (0.02, True, (0.0, 20.0))


def test_a_mass_is_never_below_nothing():
    """A spread of 100 % would reach below zero."""
    mass = airframe_mass(airframe(fittings=(Fitting("lead", 100.0, spread=1.0),)), (), {}, (), {})
    assert mass.low_g == 0.0
    assert mass.high_g == pytest.approx(228.155, abs=1e-3)


BRIM = "Brims count in the flying mass although they are cut off: the truth is a little less."


@pytest.mark.parametrize(("brim", "told"), [(0.0, []), (0.5, [BRIM])])
def test_brims_are_told_of(brim, told):
    """Only where there is one."""
    own = replace(part("a"), recipe=replace(RECIPE, brim_mm=brim))
    plane = airframe(own, finish=Finish(0.0, 0.0))
    mass = airframe_mass(plane, plane.parts, {"a": solid("a")}, pieces(plane), FILAMENTS)
    assert list(mass.notes) == told


def test_limits_word_for_word():
    """Kept, kept by the expected mass alone, broken; a limit that is just reached is kept."""
    plane = airframe(mass_limits_g=(("light", 99.0), ("open", 105.0), ("heavy", 110.0), ("exact", 100.0)))
    assert class_limits(plane, 90.0, 100.0, 110.0) == [
        "Expected 100 g is over the limit of 99 g (light).",
        "Expected 100 g keeps the limit of 105 g (open), but the range 90 to 110 g does not.",
        "Expected 100 g keeps the limit of 100 g (exact), but the range 90 to 110 g does not.",
    ]
