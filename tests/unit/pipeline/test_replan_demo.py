"""The demo, one bed after another failing: few of the others move."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, SinceRequest, default_cache, plan_folder
from planner.io.results.plan_file import read_plan
from planner.model.replan import Marks
from planner.pipeline.verify import faults

DEMO = Path(__file__).parents[3] / "demo_meshes"
NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
BAR = 0.25  # of the open beds, with four hours of delay tolerated


@pytest.mark.slow
def test_at_most_a_quarter_of_the_open_beds_moves(tmp_path: Path) -> None:
    """Every bed of the demo but the last fails at its end; the plans that go on are sound."""
    start = "2026-12-01T18:00"
    cache = default_cache()
    plan_folder(
        PlanRequest((DEMO,), out=tmp_path / "out", effort="quick", start=start, cache_folder=cache), NOW
    )
    before = read_plan(tmp_path / "out" / "plan.json")
    moved = open_beds = 0
    for run in sorted(before.runs, key=lambda run: run.end)[:-1]:
        since = SinceRequest(tmp_path / "out", Marks(failed=(run.batch,), as_planned=True), 4.0)
        plan = plan_folder(
            PlanRequest(
                (DEMO,),
                out=tmp_path / run.batch.replace(" ", "_"),
                effort="quick",
                start=run.end.isoformat(),
                cache_folder=cache,
                verify=True,
                since=since,
            ),
            NOW,
        )
        assert faults(plan) == ()
        assert plan.replan is not None
        moved += plan.replan.moved
        open_beds += plan.replan.open_batches
    assert moved <= BAR * open_beds, f"{moved} of {open_beds}"
