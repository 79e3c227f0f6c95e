"""What can be glued after which visit."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from planner.model.airframe import Fitting
from planner.model.assembly import Contact
from planner.model.batch import Batch, Placed
from planner.model.schedule import Run, Schedule, Visit
from planner.pipeline.build_order import build_order
from tests.unit.weights.samples import airframe, part, pieces

START = datetime(2026, 12, 1, 18, tzinfo=UTC)
PLANE = airframe(
    part("in", stack=("wing", 1), hand="left", mirror=True, section="left wing", other_section="right wing"),
    part("out", stack=("wing", 2), hand="left", mirror=True, section="left wing", other_section="right wing"),
    part("nose", section="fuselage"),
    fittings=(Fitting("servo", 9.0, count=2, section="left wing"), Fitting("motor", 50.0, section="power")),
    sections=("fuselage", "left wing", "right wing"),
)


def hour(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def bed(name: str, *names: str) -> Batch:
    placed = tuple(Placed(piece, 0.0, 0.0, 0.0, (), 10.0) for piece in names)
    return Batch(name, "large", "PLA", 0.2, placed, 60.0, 10.0, 10.0, 0.1)


def run(number: int, start: float, end: float) -> Run:
    return Run(f"run {number}", f"bed {number}", "large", hour(start), hour(end), True, (), 0.0)


BEDS = (bed("bed 1", "in L", "out L"), bed("bed 2", "in R", "nose"), bed("bed 3", "out R"))
TIMES = Schedule(
    (run(1, 0, 5), run(2, 14, 20), run(3, 26, 30)),
    tuple(Visit(hour(h), 10, ("clear the bed",)) for h in (0, 14, 26, 38)),
    hour(30),
    30.0,
    {"large": 15.0},
    None,
    None,
    4,
    0,
)


def test_pieces_come_with_the_visit_that_clears_their_bed():
    """A run that ends at hour 5 is cleared at the visit of hour 14, and so on."""
    steps = build_order(PLANE, PLANE.parts, pieces(PLANE), BEDS, TIMES).steps
    assert [step.at for step in steps] == [hour(14), hour(26), hour(38)]
    assert steps[0].pieces == ("in L", "out L")
    assert steps[1].runs == ("run 2",)


def test_a_joint_waits_for_both_sides_and_keeps_to_its_hand():
    """Left panels are glued at once, right ones when the outer one is there; never left to right."""
    steps = build_order(PLANE, PLANE.parts, pieces(PLANE), BEDS, TIMES).steps
    assert [step.joints for step in steps] == [(("in L", "out L"),), (), (("in R", "out R"),)]


def test_sections_are_finished_in_the_order_of_their_last_piece():
    """Left wing first, then the fuselage, then the right wing; bought items alone stand at the end."""
    order = build_order(PLANE, PLANE.parts, pieces(PLANE), BEDS, TIMES)
    assert [kit.section for kit in order.kits] == ["left wing", "fuselage", "right wing", "power"]
    assert order.kits[0].fittings == ("2 x servo",)
    assert order.steps[1].sections == ("fuselage",)


def test_a_piece_on_no_run_keeps_its_section_open():
    """Without bed 3 the right wing is never ready, and the missing piece is named."""
    times = Schedule(TIMES.runs[:2], TIMES.visits, hour(30), 30.0, {}, None, None, 3, 0)
    order = build_order(PLANE, PLANE.parts, pieces(PLANE), BEDS, times)
    wing = next(kit for kit in order.kits if kit.section == "right wing")
    assert wing.ready is None
    assert wing.missing == ("out R",)
    assert all("right wing" not in step.sections for step in order.steps)


def test_a_middle_piece_joins_both_hands():
    """A centre section without a hand is glued to the left and to the right panel, one joint each."""
    plane = airframe(
        part("centre", stack=("wing", 0)), part("in", stack=("wing", 1), hand="left", mirror=True)
    )
    beds = (bed("bed 1", "centre", "in L", "in R"),)
    times = Schedule((run(1, 0, 5),), (), hour(5), 5.0, {}, None, None, 1, 0)
    (step,) = build_order(plane, plane.parts, pieces(plane), beds, times).steps
    assert step.at == hour(5)
    assert step.joints == (("centre", "in L"), ("centre", "in R"))


def test_a_visit_that_began_before_the_run_ended_still_clears_it():
    """Tasks are merged into one visit, which may begin while the bed is printing."""
    visits = (Visit(hour(4.8), 30, ("start another", "clear the bed")), *TIMES.visits[1:])
    order = build_order(PLANE, PLANE.parts, pieces(PLANE), BEDS, replace(TIMES, visits=visits))
    assert order.steps[0].at == hour(4.8)


def test_what_touches_is_joined_when_both_are_there():
    """The nose touches both inner panels: one joint with each hand, none told twice."""
    met = tuple(
        Contact(pair, 50.0, 50.0, 0.0) for pair in (("in L", "out L"), ("in L", "nose"), ("in R", "nose"))
    )
    steps = build_order(PLANE, PLANE.parts, pieces(PLANE), BEDS, TIMES, met).steps
    assert [step.joints for step in steps] == [
        (("in L", "out L"),),
        (("in L", "nose"), ("in R", "nose")),
        (("in R", "out R"),),
    ]
