"""Files that were taken: beds that go on have their figures, and one that lasts too long is told."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api.ledger_machine_files import with_files
from planner.io.results.plan_file import read_plan
from planner.ledger.fact import READ_BACK, Fact
from planner.model.learned import Taught
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan
from tests.sample_workshop import sample_workshop
from tests.small_sample import sample_job


@pytest.mark.parametrize(("longest", "told"), [(None, 0), (10.0, 1), (30.0, 0)])
def test_a_bed_whose_file_lasts_longer_than_a_run_may(tmp_path: Path, longest: float | None, told: int):
    (tmp_path / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    plan = read_plan(tmp_path / "plan.json")
    batch = plan.batches[0]
    data = {
        "file": "moves", "grams": 20.0, "minutes": 60.0 * 12.0, "tables_g": 18.0, "tables_minutes": 600.0,
        "pieces": [placed.piece for placed in batch.placed], "filament": batch.filament, "printer": "small",
        "series": plan.series,
    }  # fmt: skip
    fact = Fact(READ_BACK, batch.name, datetime(2026, 12, 1, tzinfo=UTC), "u", plan.airframe, data=data)
    job = replace(
        sample_job(), workshop=replace(sample_workshop(), longest_run_h=longest), taught=Taught(facts=1)
    )
    made = with_files(job, (fact,), plan)
    assert made.taught is not None
    assert made.taught.files[batch.name].minutes == 720.0
    assert any(f"{batch.name} has the grams and minutes" in one for one in made.assumptions)
    mine = [one for one in made.findings if one.about == batch.name]
    assert len(mine) == told
    assert all("by its machine file moves, longer than longest_run_h = 10" in one.text for one in mine)
    assert with_files(job, (), plan) is job
    assert with_files(job, (fact,), None).findings == job.findings
