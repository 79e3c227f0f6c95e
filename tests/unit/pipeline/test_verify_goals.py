"""The independent check knows the goals of a plan: their order, and what the runs make of them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.joint_search.objectives import BUILT_IN
from planner.model.choices import Choices
from planner.model.goal import Goal
from planner.model.plan import Plan
from planner.pipeline.verify_goals import goal_faults
from tests.plan_samples import sample_plan


def _plan(prefer: tuple[str, ...] = ()) -> Plan:
    plan = sample_plan()
    runs = plan.schedule.runs
    nights = sum(run.start.hour >= 22 or run.start.hour < 6 for run in runs)
    values = {
        "finish": (max(run.end for run in runs) - plan.start).total_seconds() / 3600.0,
        "visits": float(len(plan.schedule.visits) + nights),
        "spools": float(sum(use.bought for use in plan.spools)),
    }
    ordered = sorted(BUILT_IN, key=lambda one: prefer.index(one.name) if one.name in prefer else len(prefer))
    goals = tuple(
        Goal(one.name, place, values.get(one.name, 1.0), one.unit, "told")
        for place, one in enumerate(ordered, start=1)
    )
    return replace(plan, goals=goals, choices=replace(plan.choices, prefer=prefer))


def test_a_plan_that_tells_the_truth_has_no_fault() -> None:
    """Whatever is preferred; a plan that goes on has no goals."""
    assert list(goal_faults(_plan())) == []
    assert list(goal_faults(_plan(("spools", "risk")))) == []
    assert list(goal_faults(replace(_plan(), goals=()))) == []


@pytest.mark.parametrize("name", ["finish", "visits", "spools"])
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
        goals = tuple(replace(g, **changed) if g.name == "risk" else g for g in plan.goals)  # type: ignore[arg-type]
        (fault,) = goal_faults(replace(plan, goals=goals))
        assert words in fault
