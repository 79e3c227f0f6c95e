"""Pieces as the beds and the clock see them, and what goals of other packages are as arrays."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from planner.errors import InputError
from planner.joint_search import price_arrays as module
from planner.joint_search.beds import BedMaker
from planner.joint_search.objective import Objective, Sums, Tolerance
from planner.joint_search.pieces import Family, bed_kinds, families, item_of, kinds_for, tidied
from planner.joint_search.price_arrays import minutes_of, price_arrays
from planner.joint_search.search import compose
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.nesting.problem.item import FilledBed, bed_kind
from planner.nesting.verify import verify_beds
from tests.unit.joint_search.tasks import make_deposit, make_task


def test_families_share_filament_and_layers() -> None:
    """Every piece once; layers that differ in height never share a bed; sections may."""
    task = make_task(2, parts=8, printers=2)
    found = families(task)
    assert sum(len(items) for items in found.values()) == len(task.pieces)
    assert {family.filament for family in found} == {"PLA", "foaming PLA"}
    assert all(family.apart == "" for family in found)
    fine = replace(task.parts["part 1"], recipe=replace(task.parts["part 1"].recipe, layer_height_mm=0.1))
    more = families(replace(task, parts={**task.parts, "part 1": fine}))
    assert Family("PLA", 0.1, fine.recipe.first_height_mm) in more
    assert len(more) == len(found) + 1


def test_sections_apart_and_pieces_alone() -> None:
    """Where sections are not mixed each has a family of its own; a part that lies alone likewise."""
    task = make_task(2, parts=8, printers=2)
    apart = families(replace(task, workshop=replace(task.workshop, mix_sections=False)))
    assert {family.apart for family in apart} == {"section fuselage", "section wing", "section tail"}
    lone = replace(task.parts["part 1"], alone=True)
    made = families(replace(task, parts={**task.parts, "part 1": lone}))
    (own,) = [family for family in made if family.apart]
    assert own.apart == f"piece {made[own][0].piece}"
    assert len(made[own]) == 1


def test_what_an_item_takes_from_its_part() -> None:
    """Turns, section, what is alike, and whether its openings stay empty; both hands are not alike."""
    task = make_task(2, parts=4, printers=1)
    part = replace(task.parts["part 1"], turns_deg=(0.0, 90.0), nothing_inside=True)
    items = {
        i.piece: i
        for own in families(replace(task, parts={**task.parts, "part 1": part})).values()
        for i in own
    }
    piece = next(p for p in task.pieces if p.part == "part 1")
    item = items[piece.name]
    assert (item.turns, item.nothing_inside, item.group, item.key) == ((0.0, 90.0), True, "wing", "part 1")
    hands = [p for p in task.pieces if p.part == "part 0"]
    assert {items[p.name].key for p in hands} == {"part 0", "part 0 mirrored"}
    assert items[hands[0].name].turns is None


def test_the_other_hand_is_mirrored_in_its_own_box() -> None:
    """A triangle with its right angle at the left has it at the right; a brim moves the corner to 0."""
    plain = make_deposit("fin", 30.0, 20.0, 5.0, 1.0, ("desk",), 3.0)
    shape = ((-2.0, -1.0), (28.0, -1.0), (-2.0, 19.0))
    deposit = replace(plain, footprint_mm=shape)
    left = item_of("fin", deposit)
    assert sorted(left.outline) == [(0.0, 0.0), (0.0, 20.0), (30.0, 0.0)]
    right = item_of("fin", deposit, mirrored=True)
    assert sorted(right.outline) == [(0.0, 0.0), (30.0, 0.0), (30.0, 20.0)]
    assert left.height_mm == pytest.approx(5.0)


def test_printers_that_may_run_a_filament() -> None:
    """By kind; a printer that names its filaments runs no other."""
    task = make_task(1, parts=3, printers=2, kinds=("desk", "tall"))
    pla, soft = task.workshop.filament("PLA"), task.workshop.filament("TPU")
    printers = tuple(
        replace(p, filaments=("PLA",)) if p.kind == "tall" else p for p in task.workshop.printers
    )
    workshop = replace(task.workshop, printers=printers)
    assert {kind: len(row) for kind, row in kinds_for(workshop, pla).items()} == {"desk": 2, "tall": 2}
    assert {kind: len(row) for kind, row in kinds_for(workshop, soft).items()} == {"desk": 2}
    beds = bed_kinds(kinds_for(workshop, pla))
    assert [(bed.printer_kind, bed.count) for bed in beds] == [("desk", None), ("tall", None)]


def test_tidied_beds_hold_the_same_pieces_and_lie() -> None:
    """Nothing changes beds; where it costs nothing pieces move; the slow check agrees."""
    task = make_task(3, parts=5, printers=2)
    made = compose(task)
    after = tidied(made.batches, task)
    items = {item.piece: item for own in families(task).values() for item in own}
    kind = bed_kind(task.workshop.printers[0])
    for one, other in zip(made.batches, after, strict=True):
        assert [p.piece for p in one.placed] == [p.piece for p in other.placed]
        assert (one.name, one.minutes, one.mass_g) == (other.name, other.minutes, other.mass_g)
        own = [items[p.piece] for p in other.placed]
        assert verify_beds([FilledBed(kind, other.placed, 0.0)], own, task.workshop.clearance_mm) == ()


def weekend(moment: datetime) -> float:
    return 2.0 if moment.weekday() >= 5 else 0.0


def dear(filament: Filament, printer: Printer) -> float:
    return float(len(filament.name)) + (0.5 if printer.name.endswith("2") else 0.0)


def goals_of(*measures: object) -> Sequence[Objective]:
    return [
        Objective(f"goal-{n}", "", Tolerance(), measure, lambda plan, value: "")  # type: ignore[arg-type]
        for n, measure in enumerate(measures)
    ]


def test_without_added_goals_there_are_no_rows() -> None:
    """Nothing is asked of any minute."""
    task = make_task(1, parts=3, printers=2)
    found = price_arrays(task, ["PLA"], 2)
    assert {name: array.shape for name, array in found.items()} == {
        "visit_price": (0, 0), "start_price": (0, 0), "end_price": (0, 0), "bed_price": (0, 1, 2),
    }  # fmt: skip


def test_prices_by_minute_and_by_bed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two sums beside a measure that is none: visits at the weekend, and beds by filament and printer."""
    task = make_task(1, parts=3, printers=2)
    monkeypatch.setattr(
        module, "objectives", lambda: goals_of(Sums(visit=weekend), lambda plan: 1.0, Sums(bed=dear))
    )
    found = price_arrays(task, ["PLA", "TPU", "foaming PLA"], 8)
    assert found["visit_price"].shape == (2, minutes_of(8))
    monday_evening = (
        task.start
    )  # 18:00; Saturday begins 4 days and 6 hours later and lasts with Sunday 48 hours
    assert monday_evening.weekday() == 0
    since = (4 * 24 + 6) * 60
    marked = np.flatnonzero(found["visit_price"][0])
    assert (marked[0], marked[-1] + 1) == (since, since + 48 * 60)
    assert set(found["visit_price"][0][marked]) == {2.0}
    assert not found["visit_price"][1].any()
    assert not found["start_price"].any()
    assert found["bed_price"][1].tolist() == [[3.0, 3.5], [3.0, 3.5], [11.0, 11.5]]
    assert not found["bed_price"][0].any()
    assert all(array.dtype == np.float64 for array in found.values())


@pytest.mark.parametrize(
    ("part", "words"),
    [
        (lambda moment: -1.0, "gave -1.0, which is no price of 0 or more"),
        (lambda moment: float("nan"), "gave nan, which is no price"),
        (lambda moment: 1 / 0, r"could not be asked \(ZeroDivisionError: division by zero\)"),
    ],
)
def test_what_is_no_price_is_refused(monkeypatch: pytest.MonkeyPatch, part: object, words: str) -> None:
    """With the name of the part of the goal, before anything is searched."""
    monkeypatch.setattr(module, "objectives", lambda: goals_of(Sums(start=part)))  # type: ignore[arg-type]
    with pytest.raises(InputError, match=words):
        price_arrays(make_task(1, parts=3, printers=1), ["PLA"], 1)


def test_a_calendar_of_days_holds_its_end() -> None:
    """Minutes of the days and two more: the very last moment, and the one behind it."""
    assert minutes_of(1) == 1442
    task = make_task(1, parts=3, printers=2)
    assert len(BedMaker(task).families) == 2
