"""Sections on as few beds as can be, at no cost."""

from __future__ import annotations

from dataclasses import replace

from planner.model.batch import Placed
from planner.model.effort import NORMAL
from planner.nesting.improve.group_sections import gathered, spread
from planner.nesting.pack import fill
from planner.nesting.problem.item import Item
from planner.nesting.problem.placement import filled_bed, lay
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import item, rectangle, square_bed


def _plates() -> tuple[list[Item], list[list[Placed]]]:
    """Eight plates of two sections, four to a bed, mixed one to three."""
    plates = [
        replace(item(f"p{n}", rectangle(100.0, 100.0 - n)), group="wing" if n in (0, 1, 2, 7) else "tail")
        for n in range(8)
    ]
    spots = [(4.0, 4.0), (110.0, 4.0), (4.0, 110.0), (110.0, 110.0)]
    beds = [[lay(plates[4 * b + k], *spots[k], 0.0) for k in range(4)] for b in range(2)]
    return plates, beds


def test_a_stray_plate_changes_places() -> None:
    """Two full beds with one stray plate each: exchanged, each bed holds one section."""
    plates, beds = _plates()
    known = {p.piece: p for p in plates}
    before = [(square_bed(), placed) for placed in beds]
    assert spread(known, before) == 4
    after = gathered(NestingProblem(plates, [square_bed()], 3.0, seed=1, effort=NORMAL), before)
    assert spread(known, after) == 2
    made = [filled_bed(kind, placed, known) for kind, placed in after]
    assert verify_beds(made, plates, 3.0) == ()


def test_it_never_takes_a_bed_more() -> None:
    """With and without sections the same pieces take as many beds, and the slow check agrees."""
    plain = [item(f"p{n}", rectangle(60.0 + n % 5 * 7, 45.0 + n % 3 * 9)) for n in range(24)]
    mixed = [replace(p, group=f"section {n % 3}") for n, p in enumerate(plain)]
    one = fill(NestingProblem(plain, [square_bed()], 3.0, effort=NORMAL, seed=1, steps=100_000))
    other = fill(NestingProblem(mixed, [square_bed()], 3.0, effort=NORMAL, seed=1, steps=100_000))
    assert len(one.beds) == len(other.beds)
    assert verify_beds(other.beds, mixed, 3.0) == ()
    known = {p.piece: p for p in mixed}
    as_before = [(b.kind, list(b.placed)) for b in one.beds]
    assert spread(known, [(b.kind, list(b.placed)) for b in other.beds]) <= spread(known, as_before)
