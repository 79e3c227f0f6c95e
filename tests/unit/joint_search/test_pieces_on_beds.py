"""What parts and printers ask of a bed holds in a whole plan."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon

from planner.api import PlanRequest, read_job
from planner.geometry.mesh.mesh import TriangleMesh
from planner.pipeline.job import Job
from planner.pipeline.look import look
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.builders import stl_bytes
from tests.small_job import write_small_job

A, B, C, D = (42.5, 5.0, 0.0), (42.5, 0.0, 0.0), (42.4, 5.0, 14.0), (42.5, 0.0, 14.0)  # mm
E, F, G = (14.0, 5.0, 0.0), (0.0, 5.0, 0.0), (0.0, 5.0, 4.6)
SHEETS = [(A, B, C), (D, C, B), (E, F, G), (E, G, C)]  # two open sheets at an angle, without thickness
NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
ROUNDING_DEG = 1e-6
SLACK_MM = 0.01


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    folder = write_small_job(tmp_path_factory.mktemp("kit") / "glider")
    return read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW)


def test_locked_turns_reach_the_bed(job: Job) -> None:
    """With every part locked to 30 degrees, every piece of the plan lies at 30 degrees."""
    parts = tuple(replace(part, turns_deg=(30.0,)) for part in job.airframe.parts)
    plan = run(replace(job, airframe=replace(job.airframe, parts=parts)))
    placed = [p for batch in plan.batches for p in batch.placed]
    assert placed
    assert all(abs(p.turn_deg - 30.0) < ROUNDING_DEG for p in placed)
    assert faults(plan) == ()


def test_the_check_of_a_plan_knows_the_turns(job: Job) -> None:
    """A plan made without them is refused once the parts say other turns."""
    plan = run(job)
    locked = tuple(replace(part, turns_deg=(33.0,)) for part in plan.parts)
    assert any("turn" in fault and "not allowed" in fault for fault in faults(replace(plan, parts=locked)))


def test_one_at_a_time_holds_in_a_plan(job: Job) -> None:
    """Pieces lie in the order of their heights; two tall ones are a head's radius apart."""
    head = {"one_at_a_time": True, "head_radius_mm": 30.0, "head_height_mm": 5.0, "gantry_height_mm": 500.0}
    printers = tuple(replace(p, **head) for p in job.workshop.printers)
    plan = run(replace(job, workshop=replace(job.workshop, printers=printers)))
    assert faults(plan) == ()
    for batch in plan.batches:
        heights = [p.height_mm for p in batch.placed]
        assert heights == sorted(heights)
        tall = [Polygon(p.outline_mm) for p in batch.placed if p.height_mm > 5.0]
        gaps = [a.distance(b) for n, a in enumerate(tall) for b in tall[:n]]
        assert min(gaps, default=30.0) >= 30.0 - SLACK_MM


def test_a_front_strip_holds_in_a_plan(job: Job) -> None:
    """No piece of the plan reaches into the strip that the printers keep free."""
    printers = tuple(replace(p, bed=replace(p.bed, front_room_mm=30.0)) for p in job.workshop.printers)
    plan = run(replace(job, workshop=replace(job.workshop, printers=printers)))
    assert faults(plan) == ()
    low = min(y for batch in plan.batches for p in batch.placed for _, y in p.outline_mm)
    assert low >= 30.0 - SLACK_MM


def test_a_part_of_nothing_lies_on_no_bed(tmp_path: Path) -> None:
    """Sheets hold no bead: a piece that fits no bed, for the check as for the plan."""
    folder = write_small_job(tmp_path / "glider")
    (folder / "sheet.stl").write_bytes(stl_bytes(TriangleMesh(np.array(SHEETS))))
    job = read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW)
    plan = run(job)
    assert [(miss.piece, miss.reason) for miss in plan.misfits] == [("sheet", "nothing of it can be printed")]
    assert "sheet" not in {p.piece for batch in plan.batches for p in batch.placed}
    assert faults(plan) == ()
    checked = {mesh.mesh: mesh for mesh in look(job).meshes}
    assert checked["sheet.stl"].misfit is not None
    assert checked["sheet.stl"].fits == ()
