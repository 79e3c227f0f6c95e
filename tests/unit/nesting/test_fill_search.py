"""Fewer beds by true outlines."""

from __future__ import annotations

from planner.model.effort import NORMAL, QUICK, THOROUGH
from planner.nesting.pack import fill
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, round_bed, square_bed


def test_triangles_share_a_bed() -> None:
    """Eight triangles need two beds as boxes and one as triangles."""
    items = [item(f"t{n}", ((0, 0), (98, 0), (0, 98))) for n in range(8)]
    assert len(fill(NestingProblem(items, [square_bed()], 3.0, effort=QUICK, seed=1)).beds) == 2
    answer = fill(NestingProblem(items, [square_bed()], 3.0, effort=NORMAL, seed=1))
    assert len(answer.beds) == 1
    assert verify_beds(answer.beds, items, 3.0) == ()


def test_same_seed_same_answer() -> None:
    """Two calls with the same seed and steps agree to the last bit, and steps end the search."""
    items = [item(f"p{n}", ellipse(60 + 5 * (n % 5), 40 + 7 * (n % 4))) for n in range(24)]
    kinds = [square_bed(), round_bed(260.0)]
    first = fill(NestingProblem(items, kinds, 2.0, effort=NORMAL, seed=5, steps=60_000))
    assert first == fill(NestingProblem(items, kinds, 2.0, effort=NORMAL, seed=5, steps=60_000))
    assert verify_beds(first.beds, items, 2.0) == ()


def test_stopped_at_once_leaves_the_instant_answer() -> None:
    """A search that is told to stop keeps the best so far: the boxes."""
    items = [item(f"p{n}", rectangle(70, 30)) for n in range(40)]
    quick = fill(NestingProblem(items, [square_bed()], 3.0, effort=QUICK, seed=1))
    stopped = fill(NestingProblem(items, [square_bed()], 3.0, effort=THOROUGH, seed=1, stop=lambda _: True))
    assert stopped == quick


def test_rings_stay_empty_when_told() -> None:
    """With rings closed no piece lies in an opening."""
    items = [item(f"r{n}", ellipse(100, 100), holes=(ellipse(90, 90),)) for n in range(6)]
    items += [item(f"d{n}", ellipse(60, 60)) for n in range(6)]
    open_rings = fill(NestingProblem(items, [square_bed()], 3.0, effort=NORMAL, seed=1))
    closed = fill(NestingProblem(items, [square_bed()], 3.0, effort=NORMAL, seed=1, inside_rings=False))
    assert len(open_rings.beds) == 2
    assert len(closed.beds) > 2
    assert verify_beds(open_rings.beds, items, 3.0) == ()
    assert verify_beds(closed.beds, items, 3.0, inside_rings=False) == ()


def test_locked_turns_hold_in_the_search() -> None:
    """The search leaves every piece at a turn of its list."""
    items = [item(f"t{n}", ((0, 0), (98, 0), (0, 98)), turns=(0.0, 180.0)) for n in range(8)]
    answer = fill(NestingProblem(items, [square_bed()], 3.0, effort=NORMAL, seed=1))
    assert {p.turn_deg for bed in answer.beds for p in bed.placed} <= {0.0, 180.0}
    assert verify_beds(answer.beds, items, 3.0) == ()
