"""What was learned, in grams of parts and pieces: worked by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest

from planner.model.learned import Lesson, Taught, WeighedGrams
from planner.model.printed import PrintedPiece
from planner.model.replan import EarlierTaught, Marks, PastRun
from planner.pipeline.lessons import as_taught, printed_as_taught, tables_of
from planner.pipeline.replan.fitting import fitting
from planner.pipeline.taught import with_predictions
from tests.plan_samples import sample_plan
from tests.sample_workshop import sample_workshop
from tests.unit.pipeline.test_replan_values import bed, earlier_plan, run_of

PLAN = sample_plan()
FIN = next(part for part in PLAN.parts if part.name == "fin")
LESSONS = {("foaming PLA", "skin"): Lesson(1.2)}


def test_a_deposit_takes_its_factor_in_grams_only() -> None:
    """Metres and inertia go with the mass; volumes and minutes stay those of the mesh."""
    deposit = replace(PLAN.deposits["fin"], inertia_g_mm2=(1.0, 2.0, 3.0, -4.0, 5.0, 6.0))
    made = as_taught(deposit, FIN, Taught(lessons=LESSONS))
    assert made.mass_g == pytest.approx(1.2 * deposit.mass_g)
    assert made.filament_m == pytest.approx(1.2 * deposit.filament_m)
    assert made.inertia_g_mm2 == pytest.approx((1.2, 2.4, 3.6, -4.8, 6.0, 7.2))
    assert made.layers is deposit.layers
    assert made.seconds is deposit.seconds


@pytest.mark.parametrize(
    "taught",
    [
        None,
        Taught(),
        Taught(lessons={("PLA", "skin"): Lesson(1.2)}),
        Taught(lessons={("foaming PLA", "skin"): Lesson(1.0)}),
    ],
)
def test_without_a_lesson_a_deposit_is_the_very_same(taught: Taught | None) -> None:
    deposit = PLAN.deposits["fin"]
    assert as_taught(deposit, FIN, taught) is deposit


def piece(name: str, grams: float) -> PrintedPiece:
    return PrintedPiece(name, "bed 1", None, grams, grams, "foaming PLA", "skin")


def test_pieces_that_are_there_weigh_what_the_scale_says_else_what_is_known() -> None:
    """Tables and the lesson of now; without tables the lesson of before is taken off first."""
    printed = {name: piece(name, 11.0) for name in ("weighed", "told", "old")}
    earlier: Any = SimpleNamespace(
        part_of={"old": "fin", "told": "fin"}, taught=EarlierTaught(factors={"fin": 1.1})
    )
    taught = Taught(lessons=LESSONS, weighed={"weighed": WeighedGrams(9.5, 0.01)}, predicted={"told": 8.0})
    made = {name: one.flying_g for name, one in printed_as_taught(printed, earlier, taught).items()}
    assert made["weighed"] == 9.5
    assert made["told"] == pytest.approx(8.0 * 1.2)
    assert made["old"] == pytest.approx(11.0 / 1.1 * 1.2)
    without = printed_as_taught(printed, earlier, Taught())
    assert without["old"].flying_g == pytest.approx(11.0)  # as it was known then
    assert printed_as_taught(printed, earlier, None) == printed
    assert {one.mass_g for one in without.values()} == {11.0}


def test_the_tables_tell_of_what_is_there_as_it_was_printed() -> None:
    """Whatever its mesh is by now; of what is still to be printed nothing of before is kept."""
    earlier: Any = SimpleNamespace(part_of={"old": "fin"}, taught=EarlierTaught(factors={"fin": 1.1}))
    printed = {name: piece(name, 11.0) for name in ("old", "told")}
    before = Taught(3, predicted={"told": 8.0, "open": 5.0})
    found = tables_of(printed, earlier, before)
    assert found is not None
    assert found.predicted == {"told": 8.0, "old": pytest.approx(10.0)}
    assert found.facts == 3
    assert tables_of(printed, earlier, None) is None


def test_predictions_are_those_of_the_tables_and_of_before() -> None:
    """The lesson is taken off again; what a plan before had predicted stays."""
    pieces = [one for one in PLAN.pieces if one.part in ("fin", "hatch")]
    known: Any = SimpleNamespace(parts=PLAN.parts, pieces=pieces, deposits=PLAN.deposits)
    taught = Taught(lessons=LESSONS, predicted={"hatch": 3.25, "gone": 1.0})
    made = with_predictions(taught, known).predicted
    assert set(made) == {"fin", "hatch"}
    assert made["fin"] == pytest.approx(PLAN.deposits["fin"].mass_g / 1.2)
    assert made["hatch"] == 3.25


def test_facts_that_say_nothing_any_more_are_no_marks() -> None:
    """A bed that is cleared lies nowhere; options hold where both speak of one bed; what is done stays."""
    plan = earlier_plan(runs=(run_of("bed 1"), run_of("bed 2", 2.0), run_of("bed 3", 8.0)))
    at = {"bed 1": run_of("bed 1").end, "bed 2": run_of("bed 1").end + timedelta(minutes=1)}
    told = Marks(
        done=("bed 1", "bed 2"), cleared=("bed 1", "bed 9"), changed=("sold",), again=("nobody",), at=at
    )
    made = fitting(
        told, Marks(failed=("bed 2",)), plan, sample_workshop(), run_of("bed 1").end + timedelta(hours=3)
    )
    assert made.done == ("bed 1",)
    assert made.failed == ("bed 2",)
    assert made.at == {"bed 1": at["bed 1"]}
    assert made.changed == ()
    assert made.again == ()
    assert set(made.cleared) <= {"bed 1"}
    assert PastRun(run_of("bed 1"), bed("bed 1"), "done").delivered == ("piece of bed 1",)
