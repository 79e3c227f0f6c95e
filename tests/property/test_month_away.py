"""One hour of attendance, then nobody for a month: a plan is sound, or there is none."""

from __future__ import annotations

from dataclasses import replace
from datetime import time, timedelta

import pytest

from planner.model.attendance import Absence, Attendance, WeeklyWindow
from planner.model.printer import Bed, Printer
from planner.pipeline.job import Job
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.kits.jobs import random_job


def hour_and_month(seed: int) -> Job:
    """Two kinds of printers, pieces that just about fill a bed of each, one hour in which to start them."""
    job = random_job(seed)
    day = job.start.date()
    gone = Absence(day + timedelta(days=1), day + timedelta(days=31))
    hour = WeeklyWindow(tuple(range(7)), time(17), time(18))
    attendance = Attendance(weekly=(hour,), zone="Europe/Lisbon", absences=(gone,))
    printers = tuple(
        Printer(f"printer {n}", f"kind {n}", bed=Bed("rectangle", 170.0 + 10 * n, 170.0), loaded="PLA")
        for n in range(2)
    )
    parts = tuple(
        replace(part, copies=2 + seed % 5, filament="PLA", mirror=False, hand="none")
        for part in job.airframe.parts
    )
    return replace(
        job,
        airframe=replace(job.airframe, parts=parts),
        workshop=replace(job.workshop, attendance=attendance, spools=(), printers=printers),
        start=job.start.replace(hour=17, minute=0),
    )


@pytest.mark.slow
@pytest.mark.parametrize("seed", [13, 26, 50, 52, 54])
def test_no_run_begins_before_the_plan(seed: int) -> None:
    """Seeds 50 and 52 ended with runs on both sides of the start, side by side on one bed."""
    plan = run(hour_and_month(seed))
    assert faults(plan) == ()
    assert all(one.start >= plan.start for one in plan.schedule.runs)
