"""Schedules of random workshops are sound."""

from datetime import UTC, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import Infeasible
from planner.schedule.plan import schedule_batches
from planner.schedule.timetable import spooled
from planner.schedule.verify import verify_schedule
from tests.unit.schedule.workshops import random_case

SUMMER_COMES = datetime(2026, 3, 27, 17, 13, tzinfo=UTC)  # a clock change falls into the plan
MANY_WORKSHOPS = 1000


def faults(seed):
    batches, workshop = random_case(seed)
    try:
        schedule = schedule_batches(
            batches, workshop, SUMMER_COMES, section_of={}, effort="quick", seed=seed, steps=1000
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
