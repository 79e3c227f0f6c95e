"""Plans that go on buy no spool that the shelf makes needless: order and spools are searched together."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.filament import Spool
from planner.model.plan import Plan
from planner.model.replan import Marks
from planner.pipeline.job import Job
from planner.pipeline.replan.replan import run_since
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.kits.jobs import random_job
from tests.property.test_plan_read_back import read_back

SEEDS = (4, *(pytest.param(seed, marks=pytest.mark.slow) for seed in (1, 2, 5, 7, 11, 12)))


def shelved(seed: int, buy: str) -> Job:
    """A random kit in one filament, and one spool that holds all of it and a bed that fails."""
    job = random_job(seed)
    name = job.airframe.parts[0].filament
    frame = replace(job.airframe, parts=tuple(replace(p, filament=name) for p in job.airframe.parts))
    printers = tuple(replace(p, filaments=(), one_at_a_time=False) for p in job.workshop.printers)
    spool = Spool("one", name, 5000.0)
    return replace(
        job,
        airframe=frame,
        workshop=replace(job.workshop, printers=printers, spools=(spool,), buy=buy),
    )


def gone_on(job: Job, share: float, tolerance_h: float) -> tuple[Plan, Plan]:
    """A plan, and the one that goes on after the first bed has failed, checked by both checks."""
    first = run(job)
    earlier = read_back(first)
    marks = Marks(failed=(min(earlier.runs, key=lambda one: one.start).batch,), as_planned=True)
    length = first.schedule.finish - first.start
    now = first.start + timedelta(minutes=int(share * (length / timedelta(minutes=1))))
    plan = run_since(replace(job, start=now), earlier, marks, tolerance_h)
    assert faults(plan) == ()
    assert since_faults(plan, earlier, marks) == ()
    return first, plan


@pytest.mark.parametrize("seed", SEEDS)
def test_one_spool_is_enough_after_a_failure(seed: int) -> None:
    """Where nothing may be bought the beds that are left share the spool, one after another."""
    first, plan = gone_on(shelved(seed, "never"), 0.3, 4.0)
    assert not any(use.bought for use in (*first.spools, *plan.spools))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_spool_is_bought_only_for_more_than_the_tolerated_delay(seed: int) -> None:
    """With two weeks tolerated none is bought, and what buying would bring is told."""
    job = shelved(seed, "if needed")
    _, plan = gone_on(job, 0.3, 24.0 * 14)
    assert not any(use.bought for use in plan.spools)
