"""The instant answer by boxes."""

from __future__ import annotations

import pytest

from planner.errors import InputError
from planner.model.effort import QUICK
from planner.model.printer import Bed
from planner.nesting.pack import fill
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, round_bed, square_bed


def quick(items: list[Item], kinds: list[BedKind], clearance: float = 3.0):  # type: ignore[no-untyped-def]
    return fill(NestingProblem(items, kinds, clearance, effort=QUICK, seed=1))


def test_four_squares_fill_a_bed_to_the_clearance() -> None:
    """Four 104.5 mm squares, 3 mm apart, are exactly the 212 mm that the margin leaves."""
    items = [item(f"p{n}", rectangle(104.5, 104.5)) for n in range(4)]
    answer = quick(items, [square_bed()])
    assert len(answer.beds) == 1
    assert verify_beds(answer.beds, items, 3.0) == ()
    assert answer.beds[0].fill == pytest.approx(4 * 104.5**2 / 212.0**2)


def test_a_little_more_leaves_one_to_a_bed() -> None:
    """Two of 104.6 mm and the clearance are 212.2 mm: each gets its own bed."""
    items = [item(f"p{n}", rectangle(104.6, 104.6)) for n in range(4)]
    assert len(quick(items, [square_bed()]).beds) == 4


@pytest.mark.parametrize("kind", ["rectangle", "round", "polygon", "keep-out"])
def test_every_kind_of_bed_holds_its_rules(kind: str) -> None:
    """The slow check finds nothing wrong on any kind of bed."""
    corner = ((0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (0.0, 30.0))
    beds = {
        "rectangle": square_bed(),
        "round": round_bed(),
        "polygon": BedKind(
            "cut",
            Bed("polygon", 250.0, 250.0, outline=((60, 0), (250, 0), (250, 250), (0, 250), (0, 60))),
            200.0,
        ),
        "keep-out": square_bed(keep_outs=(corner,)),
    }
    items = [item(f"p{n}", rectangle(20.0 + 7 * (n % 9), 15.0 + 11 * (n % 5))) for n in range(40)]
    answer = quick(items, [beds[kind]])
    assert answer.misfits == ()
    assert verify_beds(answer.beds, items, 3.0) == ()


def test_a_long_part_lies_across_the_corner() -> None:
    """280 mm fits a 220 mm bed only slanting (212 * sqrt 2 = 299.8 mm)."""
    long = item("spar", rectangle(280.0, 10.0))
    answer = quick([long], [square_bed()])
    assert answer.misfits == ()
    assert verify_beds(answer.beds, [long], 3.0) == ()


def test_a_locked_long_part_is_told_the_turn_that_helps() -> None:
    """68 mm are missing along x, and some slanting turn is proposed."""
    long = item("spar", rectangle(280.0, 10.0), turns=(0.0,))
    (misfit,) = quick([long], [square_bed()]).misfits
    assert (misfit.axis, misfit.missing_mm) == ("x", 68.0)
    assert "turn it by" in misfit.proposal


def test_a_tall_part_is_told_to_lie_down() -> None:
    """A 210 mm tall piece on a machine of 200 mm: 10 mm are missing, a tilt is proposed."""
    (misfit,) = quick([item("fin", rectangle(30.0, 20.0), height=210.0)], [square_bed()]).misfits
    assert (misfit.axis, misfit.missing_mm) == ("z", 10.0)
    assert "tilt it by" in misfit.proposal or "lay it down" in misfit.proposal


def test_a_disc_fits_the_round_bed_that_its_box_does_not() -> None:
    """A disc of 290 mm lies on a 300 mm round bed with 4 mm of margin."""
    disc = item("disc", ellipse(290.0, 290.0))
    answer = quick([disc], [round_bed()])
    assert answer.misfits == ()
    assert verify_beds(answer.beds, [disc], 3.0) == ()


def test_the_number_of_beds_is_respected() -> None:
    """With one bed allowed, what does not fit on it is said to lack a bed."""
    items = [item(f"p{n}", rectangle(150.0, 150.0)) for n in range(3)]
    answer = quick(items, [square_bed(count=1)])
    assert len(answer.beds) == 1
    assert [m.axis for m in answer.misfits] == ["beds", "beds"]
    assert verify_beds(answer.beds, items, 3.0, answer.misfits) == ()


def test_a_locked_turn_is_kept() -> None:
    """Pieces that may only lie at turn 0 do lie at turn 0."""
    items = [item(f"p{n}", rectangle(100.0, 30.0), turns=(0.0,)) for n in range(9)]
    answer = quick(items, [square_bed()])
    assert {p.turn_deg for bed in answer.beds for p in bed.placed} == {0.0}


def test_two_pieces_of_one_name_are_refused() -> None:
    """A name twice is an input error, not a lost piece."""
    with pytest.raises(InputError):
        quick([item("p", rectangle(10, 10)), item("p", rectangle(10, 10))], [square_bed()])


def test_the_check_sees_a_piece_that_is_moved() -> None:
    """A layout with one piece shifted onto another is reported."""
    from dataclasses import replace

    items = [item(f"p{n}", rectangle(50.0, 50.0)) for n in range(2)]
    bed = quick(items, [square_bed()]).beds[0]
    first, second = bed.placed
    moved = replace(second, x_mm=first.x_mm + 1, y_mm=first.y_mm, outline_mm=first.outline_mm)
    faults = verify_beds([replace(bed, placed=(first, moved))], items, 3.0)
    assert any("apart" in f for f in faults)
    assert any("drawn outline" in f for f in faults)
