"""Beds taken away one after another, as long as the rest takes their pieces."""

from __future__ import annotations

import pytest

from planner.model.batch import Placed
from planner.model.effort import QUICK
from planner.model.printer import Bed, Head
from planner.nesting.improve.eliminate_bins import dissolve, fewer_beds
from planner.nesting.problem.item import BedKind, FilledBed, Item
from planner.nesting.problem.placement import lay_box
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.separation.table import shaped
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, square_bed

Beds = list[tuple[BedKind, list[Placed]]]


def problem(
    items: list[Item], kinds: list[BedKind], steps: int = 4000, *, rings: bool = True
) -> NestingProblem:
    return NestingProblem(items, kinds, 3.0, seed=3, effort=QUICK, steps=steps, inside_rings=rings)


def one_each(items: list[Item], *kinds: BedKind) -> Beds:
    """Every piece on a bed of its own, at the front left."""
    every = kinds if len(kinds) == len(items) else kinds * len(items)
    return [(kind, [lay_box(one, 4.0, 4.0, 0.0)]) for one, kind in zip(items, every, strict=False)]


def sound(beds: Beds, items: list[Item], *, rings: bool = True) -> bool:
    made = [FilledBed(kind, tuple(placed), 0.0) for kind, placed in beds]
    return verify_beds(made, items, 3.0, inside_rings=rings) == ()


def test_four_beds_become_one() -> None:
    """Four plates of a quarter of the bed each, one on each bed."""
    items = [item(f"p{n}", rectangle(95.0, 90.0 + n)) for n in range(4)]
    beds = fewer_beds(problem(items, [square_bed()], 20_000), one_each(items, square_bed()))
    assert len(beds) == 1
    assert sound(beds, items)


def test_what_has_no_room_together_stays_as_it_is() -> None:
    """Two plates of 60 % of the ground each: not one step is needed to see it."""
    items = [item(f"p{n}", rectangle(165.0, 165.0)) for n in range(2)]
    start = one_each(items, square_bed())
    assert fewer_beds(problem(items, [square_bed()]), start) is start


def test_no_steps_no_change() -> None:
    """A budget of nought, or a stop at once, gives back the beds as they were."""
    items = [item(f"p{n}", rectangle(60.0, 60.0)) for n in range(3)]
    start = one_each(items, square_bed())
    assert fewer_beds(problem(items, [square_bed()], 0), start) is start
    told = NestingProblem(items, [square_bed()], 3.0, seed=1, effort=QUICK, stop=lambda _: True)
    assert fewer_beds(told, start) is start
    assert fewer_beds(problem(items[:1], [square_bed()]), start[:1]) == start[:1]


def test_the_budget_holds_for_all_rounds_together() -> None:
    """Steps asked for never run past the budget by more than a pass; half of it goes to filled outlines."""
    items = [item(f"r{n}", ellipse(110.0, 110.0), holes=(ellipse(90.0, 90.0),)) for n in range(5)]
    seen: list[int] = []
    told = NestingProblem(
        items,
        [square_bed()],
        3.0,
        seed=1,
        effort=QUICK,
        steps=3000,
        stop=lambda s: seen.append(s) is not None,
    )
    start = one_each(items, square_bed())
    beds = fewer_beds(told, start)
    assert sound(beds, items)
    assert max(seen) < 3000 + 5 * 200 * 20
    assert any(s >= 1500 for s in seen)


def test_the_largest_kind_takes_what_small_beds_held() -> None:
    """Two small beds become one large one, and the pieces move with the middle of their bed."""
    small, large = BedKind("small", Bed("rectangle", 120.0, 120.0), 200.0), square_bed(count=1)
    items = [item(f"p{n}", rectangle(100.0, 90.0)) for n in range(2)]
    beds = fewer_beds(problem(items, [small, large], 10_000), one_each(items, small))
    assert [kind.printer_kind for kind, _ in beds] == ["square"]
    assert sound(beds, items)


def test_a_kind_is_never_taken_more_often_than_there_is_of_it() -> None:
    """One large bed only: of four small beds two pieces share it, the others stay small."""
    small, large = BedKind("small", Bed("rectangle", 120.0, 120.0), 200.0), square_bed(count=1)
    items = [item(f"p{n}", rectangle(100.0, 100.0)) for n in range(6)]
    beds = fewer_beds(problem(items, [small, large], 8000), one_each(items, small))
    assert sum(kind.printer_kind == "square" for kind, _ in beds) <= 1
    assert len(beds) <= 6
    assert sound(beds, items)


@pytest.mark.parametrize(("rings", "beds"), [(True, 1), (False, 2)])
def test_openings_are_used_where_they_may_be(rings: bool, beds: int) -> None:
    """A disc finds room in a ring that fills the bed, unless rings stay empty."""
    items = [
        item("ring", ellipse(208.0, 208.0), holes=(ellipse(190.0, 190.0),)),
        item("disc", ellipse(100.0, 100.0)),
    ]
    made = fewer_beds(problem(items, [square_bed()], 6000, rings=rings), one_each(items, square_bed()))
    assert len(made) == beds
    assert sound(made, items, rings=rings)


def test_two_that_must_be_printed_last_keep_a_bed_each() -> None:
    """Above the gantry both: beds are never dissolved below their number."""
    kind = BedKind("k", Bed(), 200.0, None, Head(20.0, 25.0, 60.0))
    items = [
        item("high a", rectangle(30.0, 30.0), height=80.0),
        item("high b", rectangle(30.0, 30.0), height=80.0),
        item("low", rectangle(30.0, 30.0), height=10.0),
    ]
    made = fewer_beds(problem(items, [kind], 6000), one_each(items, kind))
    assert len(made) == 2
    assert sum("high" in p.piece for p in made[0][1]) == 1
    assert sound(made, items)


def test_dissolving_repeats_itself() -> None:
    """Same problem, same beds, to the last bit."""
    items = [item(f"t{n}", ((0, 0), (98, 0), (0, 98))) for n in range(5)]
    asked = problem(items, [square_bed()], 5000)

    def run() -> Beds:
        stopped = NestingProblem(
            items, [square_bed()], 3.0, seed=3, effort=QUICK, stop=lambda steps: steps > 5000
        )
        return dissolve(shaped(stopped), one_each(items, square_bed()))

    first = run()
    assert first == run()
    assert len(first) <= len(fewer_beds(asked, one_each(items, square_bed()))) <= 5
    assert sound(first, items)
