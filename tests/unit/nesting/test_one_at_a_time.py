"""Pieces that are finished one after the other: room for the head, and the gantry above them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import Polygon

from planner.model.batch import print_order
from planner.model.effort import NORMAL, QUICK
from planner.model.printer import Head
from planner.nesting.feasibility.feasible import fits
from planner.nesting.pack import fill
from planner.nesting.problem.item import BedKind, FilledBed, Item
from planner.nesting.problem.placement import lay
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import CLEARANCE_SLACK_MM, verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, round_bed, square_bed

HEAD = Head(radius_mm=30.0, height_mm=10.0, gantry_mm=50.0)


def bed(**more: object) -> BedKind:
    return replace(square_bed(**more), head=HEAD)  # type: ignore[arg-type]


def gaps(beds: tuple[FilledBed, ...]) -> list[float]:
    """Distances of all pairs that share a bed."""
    return [
        Polygon(a.outline_mm).distance(Polygon(b.outline_mm))
        for filled in beds
        for n, a in enumerate(filled.placed)
        for b in filled.placed[:n]
    ]


@pytest.mark.parametrize("effort", [QUICK, NORMAL])
def test_tall_pieces_keep_the_radius_of_the_head(effort: str) -> None:
    """Pieces of 40 mm reach above the slim part of the head: 30 mm between any two of them."""
    items = [item(f"p{n}", rectangle(40.0, 30.0), height=40.0) for n in range(10)]
    answer = fill(
        NestingProblem(items, [bed()], 3.0, effort=effort, seed=1, steps=None if effort == QUICK else 50_000)
    )
    assert verify_beds(answer.beds, items, 3.0) == ()
    assert min(gaps(answer.beds)) >= 30.0 - CLEARANCE_SLACK_MM


def test_low_pieces_keep_their_clearance_only() -> None:
    """Four squares of 104.5 mm and 8 mm height still fill the bed to 3 mm."""
    items = [item(f"p{n}", rectangle(104.5, 104.5), height=8.0) for n in range(4)]
    answer = fill(NestingProblem(items, [bed()], 3.0, effort=QUICK, seed=1))
    assert len(answer.beds) == 1
    assert verify_beds(answer.beds, items, 3.0) == ()


def test_only_the_last_may_rise_above_the_gantry() -> None:
    """Three pieces of 60 mm under a gantry at 50 mm need three beds; low ones lie beside them."""
    tall = [item(f"t{n}", rectangle(20.0, 20.0), height=60.0) for n in range(3)]
    low = [item(f"l{n}", rectangle(20.0, 20.0), height=9.0) for n in range(6)]
    answer = fill(NestingProblem(tall + low, [bed()], 3.0, effort=NORMAL, seed=1, steps=50_000))
    assert len(answer.beds) == 3
    assert verify_beds(answer.beds, tall + low, 3.0) == ()
    assert fits(NestingProblem(tall[:2], [bed()], 3.0, steps=10**9, seed=1, effort=QUICK)) is None
    assert fits(NestingProblem([tall[0], *low], [bed()], 3.0, steps=1000, seed=1, effort=QUICK)) is not None


def test_together_they_share_a_bed() -> None:
    """Without the head the same three lie on one bed."""
    tall = [item(f"t{n}", rectangle(20.0, 20.0), height=60.0) for n in range(3)]
    assert len(fill(NestingProblem(tall, [square_bed()], 3.0, effort=QUICK, seed=1)).beds) == 1


def test_the_search_keeps_the_head_clear_on_a_round_bed() -> None:
    """Beds that are dissolved by the search pass the slow check, tall and low pieces mixed."""
    items = [item(f"p{n}", ellipse(40 + n % 3 * 15, 25), height=(8.0, 30.0, 70.0)[n % 3]) for n in range(15)]
    kind = replace(round_bed(240.0), head=HEAD)
    quick = fill(NestingProblem(items, [kind], 3.0, effort=QUICK, seed=1))
    answer = fill(NestingProblem(items, [kind], 3.0, effort=NORMAL, seed=1, steps=100_000))
    assert len(answer.beds) <= len(quick.beds)
    assert verify_beds(answer.beds, items, 3.0) == ()


def test_the_order_is_lowest_first() -> None:
    """Finished from the lowest to the tallest, equal ones from the front."""
    items = [item(name, rectangle(10.0, 10.0), height=h) for name, h in (("a", 30.0), ("b", 5.0), ("c", 5.0))]
    placed = [lay(i, 20.0, 50.0 - 20.0 * n, 0.0) for n, i in enumerate(items)]
    assert [p.piece for p in print_order(placed)] == ["c", "b", "a"]


def _pair(gap: float, heights: tuple[float, float]) -> tuple[list[Item], FilledBed]:
    items = [item(f"p{n}", rectangle(20.0, 20.0), height=h) for n, h in enumerate(heights)]
    placed = tuple(lay(i, 20.0 + n * (20.0 + gap), 20.0, 0.0) for n, i in enumerate(items))
    return items, FilledBed(bed(), placed, 0.0)


@pytest.mark.parametrize(
    ("gap", "heights", "word"),
    [
        (29.9, (20.0, 20.0), "29.900 mm apart, 30 wanted"),
        (30.0, (20.0, 20.0), ""),
        (3.0, (10.0, 20.0), ""),
        (2.9, (10.0, 20.0), "2.900 mm apart, 3 wanted"),
        (40.0, (51.0, 60.0), "51 mm stands while the gantry passes at 50"),
        (40.0, (50.0, 60.0), ""),
    ],
)
def test_the_slow_check_knows_the_head(gap: float, heights: tuple[float, float], word: str) -> None:
    """Worked by hand: the radius counts between two tall pieces, the gantry for all but the last."""
    items, filled = _pair(gap, heights)
    faults = verify_beds([filled], items, 3.0)
    assert (faults == ()) if not word else (len(faults) == 1 and word in faults[0])
