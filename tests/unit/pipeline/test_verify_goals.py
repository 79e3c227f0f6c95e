"""The independent check knows the goals of a plan: their order, and what the runs make of them."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest

from planner.joint_search.objectives import BUILT_IN
from planner.model.choices import Choices
from planner.model.goal import Goal
from planner.model.plan import Plan
from planner.pipeline.verify_goals import goal_faults
from tests.plan_samples import sample_plan

# Of five runs by hand. Hands: 5 runs of 5 + 10 minutes, 3 changes of 10, 2 foaming beds watched for 15.
# Changes: ASA after PLA on "small"; foaming PLA and then TPU on "round", which is empty: its first is no
# changeover. Sections count 5, 4, 3, 2, 1: wings, tail after 29.9337 h, the fuselage after 74.0648 h, small
# parts after 49.5015 h.
BY_HAND = {
    "sections": ((5 + 4 + 2) * 29.9336667 + 3 * 74.0648333 + 49.5015) / 15.0,
    "hands": 5 * 15.0 + 3 * 10.0 + 2 * 15.0,
    "risk": sum(
        (1.0 - math.exp(-0.002 * h) * (1.0 + 0.002 * h)) / 0.002
        for h in (453.95 / 60.0, 1154.3 / 60.0, 326.02 / 60.0, 75.09 / 60.0, 63.89 / 60.0)
    ),
    "pairs": 0.0,
    "changeovers": 2.0,
}


def _plan(prefer: tuple[str, ...] = ()) -> Plan:
    plan = sample_plan()
    runs = plan.schedule.runs
    nights = sum(run.start.hour >= 22 or run.start.hour < 6 for run in runs)
    values = BY_HAND | {
        "finish": (max(run.end for run in runs) - plan.start).total_seconds() / 3600.0,
        "visits": float(len(plan.schedule.visits) + nights),
        "spools": float(sum(use.bought for use in plan.spools)),
    }
    ordered = sorted(BUILT_IN, key=lambda one: prefer.index(one.name) if one.name in prefer else len(prefer))
    goals = tuple(
        Goal(one.name, place, values[one.name], one.unit, "told")
        for place, one in enumerate(ordered, start=1)
    )
    return replace(plan, goals=goals, choices=replace(plan.choices, prefer=prefer))


def test_a_plan_that_tells_the_truth_has_no_fault() -> None:
    """Whatever is preferred; a plan that goes on has no goals."""
    assert list(goal_faults(_plan())) == []
    assert list(goal_faults(_plan(("spools", "risk")))) == []
    assert list(goal_faults(replace(_plan(), goals=()))) == []


@pytest.mark.parametrize("name", [one.name for one in BUILT_IN])
def test_a_value_that_the_runs_do_not_make_is_found(name: str) -> None:
    """One more, or an hour less."""
    plan = _plan()
    goals = tuple(replace(g, value=g.value + 1.0) if g.name == name else g for g in plan.goals)
    (fault,) = goal_faults(replace(plan, goals=goals))
    assert fault.startswith(f"goal {name} is told as")


def test_order_places_units_and_signs_are_checked() -> None:
    """Each by itself."""
    plan = _plan()
    assert "in the order" in next(goal_faults(replace(plan, choices=Choices(prefer=("risk",)))))
    assert "in the order" in next(goal_faults(replace(plan, goals=plan.goals[:-1])))
    swapped = (plan.goals[1], plan.goals[0], *plan.goals[2:])
    assert list(goal_faults(replace(plan, goals=swapped))) == ["the places of the goals do not count from 1"]
    for changed, words in (({"unit": "min"}, "told in 'min'"), ({"value": -1.0}, "less than nothing")):
        goals = tuple(replace(g, **changed) if g.name == "risk" else g for g in plan.goals)
        assert words in next(goal_faults(replace(plan, goals=goals)))


def test_hands_on_two_printers_are_parted() -> None:
    """The right tips of wing and tailplane moved to another bed: two pairs more than the plan tells."""
    plan = _plan()
    third, first = plan.batches[2], plan.batches[0]
    assert {one.piece for one in third.placed} >= {"wing tip R", "tailplane half R"}
    moved = tuple(one for one in third.placed if one.piece in ("wing tip R", "tailplane half R"))
    rest = tuple(one for one in third.placed if one not in moved)
    batches = (replace(first, placed=(*first.placed, *moved)), plan.batches[1], replace(third, placed=rest))
    faults = list(goal_faults(replace(plan, batches=(*batches, *plan.batches[3:]))))
    assert "goal pairs is told as 0, the runs make 2" in faults


def test_a_section_that_is_late_counts_ten_hours_an_hour() -> None:
    """The fuselage is printed on the fourth of December at 20:03:53; its date is the third."""
    plan = _plan()
    dated = replace(plan, airframe=replace(plan.airframe, section_dates={"fuselage": date(2026, 12, 3)}))
    late = 20.0 + 3.0 / 60.0 + 53.4 / 3600.0
    (fault,) = goal_faults(dated)
    assert fault.endswith(f"the runs make {BY_HAND['sections'] + 10.0 * late:g}")


def test_a_plan_that_does_not_hang_together_is_left_to_other_checks() -> None:
    """A lost piece, a run of no bed, a filament that nobody has: no value is reckoned, nothing fails."""
    plan = _plan()
    wrong = tuple(replace(g, value=g.value + 1.0) for g in plan.goals)
    assert len(list(goal_faults(replace(plan, goals=wrong)))) == len(plan.goals)
    first = plan.batches[0]
    for broken in (
        replace(plan, pieces=plan.pieces[1:]),
        replace(plan, parts=plan.parts[1:]),
        replace(plan, batches=plan.batches[1:]),
        replace(plan, batches=(replace(first, filament="nobody's"), *plan.batches[1:])),
    ):
        assert list(goal_faults(replace(broken, goals=wrong))) == []
