"""Where glue and paint lie, piece by piece, and what is said of it, word for word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.model.airframe import Finish
from planner.model.budget import MassItem, Place
from planner.weights.finish import finish_items
from planner.weights.finish_notes import finish_notes
from planner.weights.finish_spots import (
    Ground,
    Painted,
    Spot,
    at_joints,
    by_surface,
    glue_in_all,
    paint_by_area,
    paint_in_all,
)
from planner.weights.joints import JointFace
from tests.unit.weights.samples import airframe, part


def piece(what: str, section: str, grams: float, at: float | None) -> MassItem:
    return MassItem(
        what, "printed", section, grams, at, None if at is None else 2.0, None if at is None else 3.0
    )


NOSE, TAIL, LOOSE = (
    piece("nose", "front", 30.0, 10.0),
    piece("tail", "rear", 10.0, 90.0),
    piece("tip", "rear", 20.0, None),
)
PRINTED = (NOSE, TAIL, LOOSE)
ON_NOSE, ON_TAIL = Place(10.0, 2.0, 3.0), Place(90.0, 2.0, 3.0)
# 60 mm2 between nose and tail at 50; 20 mm2 between tail, and two pieces that nobody weighs, at 100
JOINTS = (
    JointFace(("tail",), 60.0, 50.0, (("nose",), ("tail",)), 1.0, 4.0),
    JointFace(("x",), 20.0, 100.0, (("tail",), ("x", "y"))),
)
JOINED = Place(50.0, 1.0, 4.0, "joint")
BEHIND = Place(100.0, None, None, "joint")


def test_each_side_of_a_joint_has_half():
    """0.1 g/mm2: 3 g a side of the first, 1 g and twice 0.5 g at the second; strangers have no section."""
    assert at_joints(JOINTS, 0.1, PRINTED) == [
        Spot("front", 3.0, JOINED),
        Spot("rear", 3.0, JOINED),
        Spot("rear", 1.0, BEHIND),
        Spot("", 0.5, BEHIND),
        Spot("", 0.5, BEHIND),
    ]


def test_glue_of_pieces_with_joints_goes_there():
    """12 g by 3 : 1 : 2: the 8 g of nose and tail go to 80 mm2 of joints, the 4 g of the tip stay on it."""
    ground = Ground(joints=JOINTS, jointed=frozenset({"nose", "tail"}))
    weights = {"nose": 3.0, "tail": 1.0, "tip": 2.0}
    assert glue_in_all(12.0, PRINTED, weights, ground) == [
        Spot("rear", 4.0, None, "tip"),
        *at_joints(JOINTS, 0.1, PRINTED),
    ]


def test_glue_without_joints_lies_on_the_pieces():
    """Half of the weight is of a piece that weighs nothing here; nothing to weigh leaves one spot nowhere."""
    assert glue_in_all(12.0, PRINTED, {"nose": 3.0, "tail": 1.0}, Ground()) == [
        Spot("front", 9.0, ON_NOSE, "nose"),
        Spot("rear", 3.0, ON_TAIL, "tail"),
        Spot("rear", 0.0, None, "tip"),
    ]
    assert glue_in_all(12.0, PRINTED, {}, Ground()) == [Spot("", 12.0, None)]
    assert glue_in_all(12.0, (), {}, Ground(joints=JOINTS)) == [Spot("", 12.0, None)]


def test_paint_by_the_outer_surface():
    """6 g on 100, 200 and 300 mm2: 1, 2 and 3 g, in the middle of each surface, or on the piece."""
    middle = Place(15.0, None, 5.0, "outer surface")
    outer = {"nose": Painted(100.0, middle), "tail": Painted(200.0), "tip": Painted(300.0)}
    wanted = [Spot("front", 1.0, middle), Spot("rear", 2.0, ON_TAIL, "tail"), Spot("rear", 3.0, None, "tip")]
    assert paint_in_all(6.0, PRINTED, Ground(outer=outer)) == wanted
    assert paint_by_area(0.01, PRINTED, Ground(outer=outer)) == wanted


def test_paint_where_an_outer_surface_is_not_known():
    """By the whole surfaces, 10 : 20 : 30; by mass where one of these is not known; else nowhere."""
    outer = {"nose": Painted(100.0), "tail": Painted(200.0)}
    whole = {"nose": 10.0, "tail": 20.0, "tip": 30.0}
    found = paint_in_all(6.0, PRINTED, Ground(surfaces_mm2=whole, outer=outer))
    assert [spot.grams for spot in found] == pytest.approx([1.0, 2.0, 3.0])
    found = paint_in_all(6.0, PRINTED, Ground(surfaces_mm2={"nose": 10.0, "tail": 20.0}))
    assert [spot.grams for spot in found] == pytest.approx([3.0, 1.0, 2.0])
    assert paint_in_all(6.0, (), Ground()) == [Spot("", 6.0, None)]
    light = (replace(NOSE, mass_g=0.0), TAIL)
    assert paint_in_all(6.0, light, Ground()) == [Spot("rear", 6.0, ON_TAIL, "tail")]


def test_surfaces_are_weights_where_all_are_known():
    """One that is missing, or nothing, lets all go by mass."""
    assert by_surface(PRINTED, {"nose": 1.0, "tail": 2.0, "tip": 3.0}) == {
        "nose": 1.0,
        "tail": 2.0,
        "tip": 3.0,
    }
    mass = {"nose": 30.0, "tail": 10.0, "tip": 20.0}
    assert by_surface(PRINTED, {"nose": 1.0, "tail": 2.0}) == mass
    assert by_surface(PRINTED, {"nose": 1.0, "tail": 2.0, "tip": 0.0}) == mass


def test_lines_by_section():
    """6 g of glue by mass: 3 g in front at 10; 1 g in the rear at 90 and 2 g that have no station there."""
    front, rear, nowhere = finish_items(Finish(glue_g=6.0, paint_g=0.0), PRINTED, Ground())
    assert (front.what, front.mass_g, front.station_mm, front.across_mm, front.up_mm) == (
        "glue, front",
        3.0,
        10.0,
        2.0,
        3.0,
    )
    assert (rear.what, rear.mass_g, rear.station_mm, rear.carried) == (
        "glue, rear",
        1.0,
        90.0,
        (("tail", 1.0),),
    )
    assert (nowhere.what, nowhere.mass_g, nowhere.station_mm) == ("glue, rear (no station)", 2.0, None)
    assert {line.finish for line in (front, rear, nowhere)} == {"glue"}
    assert {line.spread_shared for line in (front, rear, nowhere)} == {0.1}


def test_a_given_station_takes_all():
    """One line a section at that station, carried by no piece."""
    found = finish_items(Finish(glue_g=6.0, paint_g=0.0, station_mm=33.0), PRINTED, Ground())
    assert [(i.what, i.mass_g, i.station_mm, i.across_mm, i.carried) for i in found] == [
        ("glue, front", 3.0, 33.0, None, ()),
        ("glue, rear", 3.0, 33.0, None, ()),
    ]


RULE = "Glue is taken as 2.5 % of the printed mass (common practice, no source)."
NO_PAINT = "No primer or paint is given; none is counted."
BY_AREA = "Primer and paint go by the outer surface of the meshes; joint faces count too."
ALL = "Glue is divided by the area of the glued joints; a joint of two sections counts half each."
SOME = (
    "Glue is divided by the area of the glued joints, half to each side; to pieces without a seat by surface."
)
RATE = (
    "Glue is 0.02 g/cm2 of the plane faces that touch, hinges too; tubes in"
    " their sockets and pieces without a seat (station_mm only) are not counted."
)
GLUE = MassItem("glue", "finish", "", 6.0, 10.0, finish="glue")
KNOWN = Ground(joints=JOINTS, jointed=frozenset({"nose", "tail", "tip"}))


@pytest.mark.parametrize(
    ("finish", "lines", "ground", "words"),
    [
        (
            Finish(),
            [GLUE],
            Ground(),
            [RULE, "Glue is divided by printed mass: no glued joint is known.", NO_PAINT],
        ),
        (
            Finish(glue_g=6.0, paint_g=5.0),
            [GLUE],
            Ground(),
            ["Glue is divided by surface: no glued joint is known."],
        ),
        (Finish(glue_g=6.0, paint_g=5.0), [GLUE], KNOWN, [ALL]),
        (Finish(glue_g=6.0, paint_g=5.0), [GLUE], replace(KNOWN, jointed=frozenset({"nose"})), [SOME]),
        (
            Finish(glue_g=6.0, paint_g=5.0),
            [GLUE],
            replace(KNOWN, jointed=frozenset()),
            ["Glue is divided by surface: no glued joint is known."],
        ),
        (Finish(glue_g=0.0, paint_g=5.0), [], KNOWN, []),
        (Finish(glue_g=0.05, paint_g=5.0), [replace(GLUE, mass_g=0.05)], KNOWN, [ALL]),
        (Finish(glue_g=0.04, paint_g=5.0), [replace(GLUE, mass_g=0.04)], KNOWN, []),
        (Finish(glue_g_per_cm2=0.02, paint_g=5.0), [], KNOWN, [RATE]),
        (Finish(glue_g=0.0, primer_g_per_m2=40.0), [], KNOWN, [BY_AREA]),
        (Finish(glue_g=0.0, paint_g_per_m2=40.0), [], KNOWN, [BY_AREA]),
        (Finish(glue_g=0.0, paint_g=5.0, primer_g_per_m2=40.0), [], KNOWN, [BY_AREA]),
        (Finish(glue_g=0.0), [], KNOWN, [NO_PAINT]),
        (
            Finish(glue_g=0.0, paint_g=6.0),
            [replace(GLUE, finish="paint", station_mm=None), replace(GLUE, finish="paint")],
            KNOWN,
            ["6.0 g of glue and paint lie on pieces whose place is not known: unplaced, too."],
        ),
        (
            Finish(glue_g=0.0, paint_g=6.0),
            [replace(GLUE, finish="paint", station_mm=None, mass_g=0.04)],
            KNOWN,
            [],
        ),
    ],
)
def test_notes_word_for_word(finish, lines, ground, words):
    """What was assumed, and nothing else."""
    plane = airframe(part("a"), finish=finish)
    assert list(finish_notes(plane, plane.parts, PRINTED, lines, ground)) == words


def test_an_airframe_without_parts_is_told_nothing():
    """Nothing printed: no rule of thumb, no word about paint."""
    assert finish_notes(airframe(), (), (), [], Ground()) == ()
