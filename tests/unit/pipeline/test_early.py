"""The first answer is told as soon as it is found, and is a sound one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest
from planner.api.reading import read_job
from planner.model.early import EARLY
from planner.pipeline.early import DAYS, EarlyTold
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.run import run
from planner.units import grams_text
from tests.small_job import write_small_job


@pytest.mark.slow
def test_it_says_when_how_heavy_and_how_dear(tmp_path: Path) -> None:
    """Once, in the search, before better ones; of a plan that is not bettered it says what the plan says."""
    start = datetime(2026, 12, 1, 18, tzinfo=UTC)
    job = read_job(PlanRequest((write_small_job(tmp_path / "kit"),), effort="quick"), start, None)
    told: list[str] = []
    plan = run(job, lambda stage, *_: told.append(stage))
    early = [stage for stage in told if stage.startswith(EARLY)]
    assert len(early) == 1
    assert any(stage.startswith("beds and schedule") for stage in told[told.index(early[0]) + 1 :])
    known = weighed(job, lambda *_: None)
    later: list[str] = []
    EarlyTold(replace(job), known, lambda stage, *_: later.append(stage)).told(plan.batches, plan.schedule)
    end = max(one.end for one in plan.schedule.runs)
    assert f"done {DAYS[end.weekday()]} {end:%Y-%m-%d %H:%M}, weighs" in later[0]
    assert later[0].endswith(f"{plan.cost.currency} printed")
    assert f"weighs {grams_text(plan.mass.total_g)} g" in later[0]
