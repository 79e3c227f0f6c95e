"""The instant answer: boxes, then alone what has no box that fits, then words for what never fits."""

from __future__ import annotations

import pytest
import shapely

from planner.model.effort import QUICK
from planner.model.printer import Outline
from planner.nesting.boxes.constructive import instant
from planner.nesting.boxes.single_item import lay_single
from planner.nesting.problem.item import BedKind, FilledBed, Item
from planner.nesting.problem.problem import NestingProblem
from planner.nesting.verify import verify_beds
from tests.unit.nesting.shapes import ellipse, item, rectangle, round_bed, square_bed

BLADE = rectangle(285.0, 8.0)  # longer than the bed of 212 mm, shorter than its diagonal of 299.8 mm


def asked(items: list[Item], *kinds: BedKind) -> NestingProblem:
    return NestingProblem(items, kinds, 3.0, seed=1, effort=QUICK)


def sound(beds: list[tuple[BedKind, list]], items: list[Item]) -> bool:  # type: ignore[type-arg]
    made = [FilledBed(kind, tuple(placed), 0.0) for kind, placed in beds]
    laid = {p.piece for bed in made for p in bed.placed}
    return verify_beds(made, [one for one in items if one.piece in laid], 3.0) == ()


def test_a_blade_lies_across_the_corner() -> None:
    """No box with sides along the bed holds it; laid askew by itself it lies on the bed."""
    blade = item("blade", BLADE)
    found = lay_single(blade, [square_bed()])
    assert found is not None
    kind, placed = found
    assert kind == square_bed()
    assert 20.0 < placed.turn_deg % 90.0 < 70.0
    assert shapely.box(4.0, 4.0, 216.0, 216.0).buffer(1e-9).contains(shapely.Polygon(placed.outline_mm))


def test_a_turn_that_is_not_allowed_is_not_taken() -> None:
    """The same blade that may lie straight only has no bed."""
    assert lay_single(item("blade", BLADE, turns=(0.0, 90.0)), [square_bed()]) is None
    found = lay_single(item("blade", BLADE, turns=(0.0, 45.0)), [square_bed()])
    assert found is not None
    assert found[1].turn_deg == 45.0


def test_the_first_kind_that_takes_it() -> None:
    """Kinds are asked in their order; one that is too low is passed over."""
    low, tall = BedKind("low", square_bed().bed, 50.0), BedKind("tall", square_bed().bed, 300.0)
    assert [
        found[0].printer_kind if (found := lay_single(item("p", BLADE, height=h), [low, tall])) else None
        for h in (50.0, 50.5, 300.0, 301.0)
    ] == ["low", "tall", "tall", None]


@pytest.mark.parametrize("outline", [ellipse(290.0, 100.0), rectangle(270.0, 100.0)])
def test_on_a_round_bed_it_lies_about_the_middle(outline: Outline) -> None:
    """The smallest circle round the piece is put on the middle of the bed."""
    found = lay_single(item("wide", outline), [round_bed()])
    assert found is not None
    shape = shapely.Polygon(found[1].outline_mm)
    assert shape.centroid.x == pytest.approx(150.0, abs=0.01)
    assert shape.centroid.y == pytest.approx(150.0, abs=0.01)
    assert lay_single(item("wider", rectangle(280.0, 100.0)), [round_bed()]) is None  # 297.3 mm across


def test_a_round_bed_that_is_blocked_in_its_middle() -> None:
    """The middle is taken, so the piece lies beside it."""
    kind = BedKind(
        "round",
        round_bed().bed.__class__("round", 300.0, 300.0, keep_outs=(rectangle(4, 4, 148, 148),)),
        200.0,
    )
    found = lay_single(item("plate", rectangle(120.0, 60.0)), [kind])
    assert found is not None
    assert not shapely.Polygon(found[1].outline_mm).intersects(shapely.box(148.0, 148.0, 152.0, 152.0))
    assert sound([(kind, [found[1]])], [item("plate", rectangle(120.0, 60.0))])


def test_boxes_share_beds_and_the_blade_gets_its_own() -> None:
    """Four plates fill a bed; the blade, which has no box, lies alone on another."""
    items = [*(item(f"plate {n}", rectangle(100.0, 100.0)) for n in range(4)), item("blade", BLADE)]
    beds, misfits = instant(asked(items, square_bed()))
    assert misfits == ()
    assert sorted(sorted(p.piece for p in placed) for _, placed in beds) == [
        ["blade"], ["plate 0", "plate 1", "plate 2", "plate 3"],
    ]  # fmt: skip
    assert sound(beds, items)


def test_beds_that_are_full_are_told_from_beds_that_are_small() -> None:
    """One bed only: a second plate and the blade would fit another one, the giant fits none."""
    items = [
        item("plate a", rectangle(150.0, 150.0)),
        item("plate b", rectangle(150.0, 149.0)),
        item("blade", BLADE),
        item("giant", rectangle(400.0, 400.0)),
    ]
    beds, misfits = instant(asked(items, square_bed(count=1)))
    assert [[p.piece for p in placed] for _, placed in beds] == [["plate a"]]
    told = {m.piece: m for m in misfits}
    assert told.keys() == {"plate b", "blade", "giant"}
    full = "all beds that take it are full: allow one more bed"
    assert [told[name].proposal for name in ("plate b", "blade")] == [full, full]
    assert told["giant"].missing_mm == pytest.approx(400.0 - 212.0)
    assert told["giant"].proposal.startswith("cut the part into four, or use a bed with 188.0 mm more in x")


def test_beds_of_every_kind_are_counted() -> None:
    """Two beds of one kind and one of another: four plates that need a bed each leave one over."""
    wide = BedKind("wide", round_bed(320.0).bed, 200.0, 1)
    items = [item(f"plate {n}", rectangle(180.0, 180.0)) for n in range(4)]
    beds, misfits = instant(asked(items, square_bed(count=2), wide))
    assert sorted(kind.printer_kind for kind, _ in beds) == ["square", "square", "wide"]
    assert [m.axis for m in misfits] == ["beds"]
    assert sound(beds, items)


def test_a_piece_as_wide_as_the_ground_is_not_refused_for_a_keep_out() -> None:
    """It was, with the advice to turn it by 0 degrees: the raster lost a strip along every edge."""
    kind = square_bed(keep_outs=(rectangle(50.0, 50.0, 170.0, 170.0),))
    items = [item("spar", rectangle(211.5, 100.0), turns=(0.0,)), item("clip", rectangle(20.0, 20.0))]
    beds, misfits = instant(asked(items, kind))
    assert misfits == ()
    assert sound(beds, items)


def test_nothing_to_lay_and_no_bed_to_lay_it_on() -> None:
    """No pieces, no beds; without a bed the words say that a printer is missing."""
    assert instant(asked([], square_bed())) == ([], ())
    beds, (misfit,) = instant(asked([item("p", rectangle(10.0, 10.0))]))
    assert beds == []
    assert misfit.proposal == "no bed is given: add a printer to the workshop file"
