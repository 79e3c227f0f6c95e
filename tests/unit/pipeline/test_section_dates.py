"""A date for a section that no piece belongs to: nothing is late, and the plan is sound."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest

from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.kits.jobs import random_job


@pytest.mark.slow
@pytest.mark.parametrize("days", [-30, 0, 30])
def test_a_dated_section_without_pieces(days: int) -> None:
    """Long past, today and later, beside a section that has pieces."""
    job = random_job(5)
    dates = {"tail": job.start.date() + timedelta(days=days), "wing": job.start.date() + timedelta(days=2)}
    airframe = replace(job.airframe, sections=("tail", "fuselage", "wing"), section_dates=dates)
    plan = run(replace(job, airframe=airframe, prefer=("sections",)))
    assert faults(plan) == ()
    assert plan.airframe.section_dates == dates
