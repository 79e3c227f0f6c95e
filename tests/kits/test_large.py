"""The large job that benches plan: its records are read, and every part is made as they say."""

from __future__ import annotations

from pathlib import Path

from planner.api.planning import prepared
from planner.api.request import PlanRequest
from tests.kits.large import large_job
from tests.plan_samples import START


def test_a_large_job_is_read_as_it_was_written(tmp_path: Path) -> None:
    """All parts with section, recipe and filament; three printers."""
    folder = large_job(tmp_path / "job", 12, fine=0.1)
    job, _ = prepared(PlanRequest((folder,), start="2026-12-01T18:00"), None, START, None)
    assert len(job.airframe.parts) == 12
    assert set(job.airframe.sections) == {"wing", "fuselage", "tail", "fittings"}
    assert {part.filament for part in job.airframe.parts} == {"PLA", "PETG"}
    assert len({part.recipe for part in job.airframe.parts}) == 3
    assert len(job.workshop.printers) == 3
