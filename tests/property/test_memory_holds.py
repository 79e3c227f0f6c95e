"""Plans of random kits that go on, with a mesh that changes and a piece that is printed again, are sound."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.errors import Infeasible
from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.replan import Marks
from planner.pipeline.replan.replan import run_since
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.kits.jobs import random_job
from tests.property.test_plan_read_back import read_back

MANY = 20


def unsound(seed: int) -> list[tuple[int, tuple[str, ...]]]:
    """Three plans that go on: one after failures, one after a mesh grew, one with a piece once more."""
    rng = np.random.default_rng(seed)
    job = random_job(seed)
    found = []
    try:
        plan = run(job)
        for turn in range(3):
            earlier = read_back(plan)
            length = max(timedelta(minutes=60), plan.schedule.finish - plan.start)
            job = replace(job, start=plan.start + timedelta(minutes=int(length / timedelta(minutes=2))))
            if turn == 1:
                first = sorted(job.meshes)[0]
                grown = TriangleMesh(job.meshes[first].triangles * 1.05)
                job = replace(job, meshes={**job.meshes, first: grown})
            begun = [one.batch for one in earlier.runs if one.start < job.start]
            failed = tuple(name for name in begun if rng.random() < 0.3)
            there = [piece for past in earlier.past for piece in past.delivered]
            marks = Marks(failed=failed, as_planned=True, again=tuple(there[:1]) if turn == 2 else ())
            plan = run_since(job, earlier, marks)
            found.append((turn, (*faults(plan), *since_faults(plan, earlier, marks))))
    except Infeasible:
        return found
    return found


def test_a_build_with_changes_is_sound_at_every_step() -> None:
    """Both independent checks, at every step."""
    found = unsound(0)
    assert found
    assert [step for step in found if step[1]] == []


@pytest.mark.slow
def test_twenty_builds_with_changes_are_sound_at_every_step() -> None:
    """The same for twenty kits."""
    assert [(seed, step) for seed in range(MANY) for step in unsound(seed) if step[1]] == []
