"""Plans of random workshops that go on after random failures are sound."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import Infeasible
from planner.flow.replan import _underway, _workshop_now
from planner.flow.replan_outcomes import outcomes
from planner.flow.replan_shelf import shelf_now
from planner.model.replan import EarlierPlan, Marks
from planner.schedule.plan import schedule_batches
from planner.schedule.replan_plan import replan_batches
from planner.schedule.timetable import spooled
from planner.schedule.verify import verify_schedule
from tests.unit.schedule.workshops import random_case

SUMMER_COMES = datetime(2026, 3, 27, 17, 13, tzinfo=UTC)  # a clock change falls into the plan
MANY_WORKSHOPS = 300


def earlier_plan(seed):
    batches, workshop = random_case(seed)
    schedule = schedule_batches(
        batches, workshop, SUMMER_COMES, section_of={}, effort="quick", seed=seed, steps=500
    )
    schedule, uses = spooled(schedule, batches, workshop, SUMMER_COMES)
    told = {use.spool: use.grams_before for use in uses if not use.bought}
    plan = EarlierPlan(
        "random",
        "0" * 64,
        "x",
        SUMMER_COMES,
        schedule.finish,
        {},
        {},
        tuple(batches),
        schedule.runs,
        (),
        uses,
        told,
    )
    return plan, workshop


def marks_at(plan, now, rng):
    """What has ended is done or has failed; what has begun runs or has failed."""
    ended = [run.batch for run in plan.runs if run.end <= now]
    begun = [run.batch for run in plan.runs if run.start < now < run.end]
    failed = tuple(name for name in (*ended, *begun) if rng.random() < 0.3)
    return Marks(failed=failed, as_planned=True)


def faults(seed):
    try:
        plan, workshop = earlier_plan(seed)
        rng = np.random.default_rng(seed)
        length = (plan.finish - SUMMER_COMES) / timedelta(minutes=1)
        now = SUMMER_COMES + timedelta(minutes=int(rng.uniform(0.05, 1.0) * length))
        became = outcomes(plan, marks_at(plan, now, rng), now)
        shelf, _ = shelf_now(workshop.spools, plan, became)
        workshop = _workshop_now(replace(workshop, spools=shelf), plan, became)
        here = {batch.name: batch for batch in plan.batches}
        again = [
            replace(past.batch, name=f"{past.batch.name} again")
            for past in became.past
            if past.outcome == "failed"
        ]
        open_ = [*(here[run.batch] for run in became.open), *again]
        underway = _underway(plan, became)
        schedule, answer = replan_batches(
            open_,
            {run.batch: (run.printer, run.start) for run in became.open},
            underway,
            workshop,
            now,
            tolerance_h=4.0,
            effort="quick",
            seed=1,
        )
        batches = [*underway.batches, *open_]
        schedule, uses = spooled(schedule, batches, workshop, now, underway.on_bed)
    except Infeasible:
        return ()
    assert answer.timing.finish <= answer.best + 240
    for run in became.running:
        assert run in [replace(one, name=run.name) for one in schedule.runs]
    return verify_schedule(schedule, uses, batches, workshop, now, underway.on_bed)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(min_value=0, max_value=10_000))
def test_a_plan_that_goes_on_passes_the_independent_check(seed):
    """Whatever fails whenever: what runs is kept, the rest is attended, handled and has its spools."""
    assert faults(seed) == ()


@pytest.mark.slow
def test_three_hundred_plans_that_go_on_pass_the_independent_check():
    """The same for three hundred workshops in a row."""
    assert [(seed, found) for seed in range(MANY_WORKSHOPS) if (found := faults(seed))] == []
