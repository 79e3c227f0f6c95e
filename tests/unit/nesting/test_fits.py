"""One bed, yes or no."""

from __future__ import annotations

from dataclasses import replace

from planner.model.effort import QUICK
from planner.nesting.feasibility.feasible import fits
from planner.nesting.problem.item import FilledBed
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, square_bed

STEPS = 300_000


def test_triangles_fit_where_their_boxes_do_not() -> None:
    """Eight right triangles of 100 x 100 mm pair up on a bed of 212 mm; their boxes are four too many."""
    items = [item(f"t{n}", ((0, 0), (100, 0), (0, 100))) for n in range(8)]
    assert fits(NestingProblem(items, [square_bed()], 3.0, steps=0, seed=1, effort=QUICK)) is None
    placed = fits(NestingProblem(items, [square_bed()], 1.0, steps=STEPS, seed=1, effort=QUICK))
    assert placed is not None
    assert verify_beds([FilledBed(square_bed(), placed, 0.0)], items, 1.0) == ()


def test_too_much_area_is_a_quick_no() -> None:
    """Five squares of 100 mm do not fit 212 x 212 mm, however long one looks."""
    items = [item(f"p{n}", rectangle(100, 100)) for n in range(5)]
    assert fits(NestingProblem(items, [square_bed()], 3.0, steps=10**12, seed=1, effort=QUICK)) is None


def test_a_disc_goes_into_the_ring() -> None:
    """A ring that fills the bed takes a disc into its opening."""
    items = [item("ring", ellipse(205, 205), holes=(ellipse(190, 190),)), item("disc", ellipse(150, 150))]
    assert (
        fits(
            NestingProblem(items, [square_bed()], 3.0, steps=STEPS, seed=1, inside_rings=False, effort=QUICK)
        )
        is None
    )
    placed = fits(NestingProblem(items, [square_bed()], 3.0, steps=STEPS, seed=1, effort=QUICK))
    assert placed is not None
    assert verify_beds([FilledBed(square_bed(), placed, 0.0)], items, 3.0) == ()


def test_pieces_that_are_alike_share_the_answer() -> None:
    """Other names for equal outlines give the same places."""
    one = [item(f"t{n}", ((0, 0), (90, 0), (0, 90))) for n in range(6)]
    other = [replace(i, piece="x" + i.piece) for i in one]
    first = fits(NestingProblem(one, [square_bed()], 3.0, steps=STEPS, seed=3, effort=QUICK))
    second = fits(NestingProblem(other, [square_bed()], 3.0, steps=STEPS, seed=3, effort=QUICK))
    assert first is not None
    assert second is not None
    assert [replace(p, piece="") for p in first] == [replace(p, piece="") for p in second]
    assert {p.piece for p in second} == {i.piece for i in other}
