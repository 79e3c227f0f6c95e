"""Schedules of random workshops are sound."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import Infeasible
from planner.joint_search.objectives import BUILT_IN
from planner.joint_search.pieces import bed_kinds, families
from planner.joint_search.search import compose
from planner.model.effort import QUICK
from planner.nesting.problem.item import FilledBed
from planner.nesting.verify import verify_beds
from planner.scheduling.plan import schedule_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.unit.joint_search.tasks import make_task
from tests.unit.scheduling.workshops import random_case

SUMMER_COMES = datetime(2026, 3, 27, 17, 13, tzinfo=UTC)  # a clock change falls into the plan
MANY_WORKSHOPS = 1000


def faults(seed):
    batches, workshop = random_case(seed)
    try:
        schedule = schedule_batches(
            batches, workshop, SUMMER_COMES, section_of={}, effort=QUICK, seed=seed, steps=1000
        )
        schedule, uses = spooled(schedule, batches, workshop, SUMMER_COMES)
    except Infeasible:
        return ()
    assert schedule.lower_bound_h <= schedule.makespan_h + 1e-9
    return verify_schedule(schedule, uses, batches, workshop, SUMMER_COMES)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(st.integers(min_value=0, max_value=10_000))
def test_random_workshops_pass_the_independent_check(seed):
    """Whatever the workshop, the independent check finds nothing, and no schedule beats its bound."""
    assert faults(seed) == ()


@pytest.mark.slow
def test_a_thousand_random_workshops_pass_the_independent_check():
    """The same for a thousand workshops in a row."""
    assert [seed for seed in range(MANY_WORKSHOPS) if faults(seed)] == []


def composed_faults(seed):
    """What the independent checks find in beds and runs that were searched for together."""
    task = make_task(
        seed=seed,
        parts=1 + seed % 7,
        printers=1 + seed % 3,
        kinds=("desk",) if seed % 2 else ("desk", "tall"),
        persons=1 + seed % 2,
    )
    task = replace(task, start=SUMMER_COMES, prefer=(BUILT_IN[seed % len(BUILT_IN)].name,))
    made = compose(task)
    items = [item for group in families(task).values() for item in group]
    kinds = {kind.printer_kind: kind for kind in bed_kinds({p.kind: [p] for p in task.workshop.printers})}
    beds = [FilledBed(kinds[batch.printer_kind], batch.placed, batch.fill) for batch in made.batches]
    assert made.schedule.lower_bound_h <= made.schedule.makespan_h + 1e-9
    return (
        *verify_schedule(made.schedule, made.spools, made.batches, task.workshop, task.start),
        *verify_beds(beds, items, task.workshop.clearance_mm, made.misfits),
    )


@pytest.mark.parametrize("seed", range(12))
def test_beds_and_runs_of_random_workshops_pass_the_independent_checks(seed):
    """Pieces to beds to runs, whatever goal counts first: nothing is found, no finish beats its bound."""
    assert composed_faults(seed) == ()


@pytest.mark.slow
def test_beds_and_runs_of_a_thousand_random_workshops_pass_the_independent_checks():
    """The same for a thousand workshops in a row."""
    assert [seed for seed in range(MANY_WORKSHOPS) if composed_faults(seed)] == []
