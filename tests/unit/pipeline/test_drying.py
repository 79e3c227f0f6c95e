"""What a plan tells of drying; whole plans with a dryer, checked, and gone on from."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.api import PlanRequest, SinceRequest, plan_folder
from planner.joint_search.composition import ComposeTask, Composition
from planner.model.batch import Batch
from planner.model.drying import Dryer
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.replan import Marks
from planner.model.schedule import Draw, Run, Schedule
from planner.model.workshop import Workshop
from planner.pipeline.drying import composed_dry, drying_notes
from planner.pipeline.job import Job
from planner.pipeline.mass_estimate import weighed
from planner.pipeline.task import compose_task
from planner.pipeline.verify import faults
from tests.small_job import write_small_job
from tests.small_sample import sample_job

NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=8.0, dry_c=70.0, needs_drying=True, open_hours=24.0)
SHOP = Workshop((Printer("one", "desk"),), (NYLON,), (Spool("A", "PA", 500.0),), dryer=Dryer())
NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)


MARGIN = timedelta(minutes=30)


def test_how_a_filament_is_dried_is_told() -> None:
    """And why no slot is planned where none is."""
    how = "PA is dried for 8 h at 70 °C (its maker's sheet counts)"
    assert drying_notes([NYLON], SHOP) == (f"{how}, and again once it was open for 24 h",)
    once = replace(NYLON, open_hours=None, dry_c=None)
    assert drying_notes([once], SHOP) == ("PA is dried for 8 h (its maker's sheet counts), once",)
    wait = "so no slot is planned and no run waits for it"
    assert drying_notes([NYLON], replace(SHOP, dryer=None)) == (
        f"{how}: no dryer is named in workshop.toml, {wait}",
    )
    assert drying_notes([NYLON], replace(SHOP, spools=())) == (
        f"{how}: no spool is listed in workshop.toml, {wait}",
    )
    assert drying_notes([replace(NYLON, needs_drying=False, open_hours=None)], SHOP) == ()


def dried_job() -> Job:
    """The small sample, whose filament must be dried."""
    job = sample_job()
    (plain,) = job.workshop.filaments
    wet = replace(plain, dry_hours=6.0, needs_drying=True, open_hours=30.0)
    return replace(job, workshop=replace(job.workshop, filaments=(wet,), dryer=Dryer()))


@pytest.mark.slow
def test_whole_plans_wait_for_the_dryer() -> None:
    """Checked by every rule; goals and visits count the dryer's, too."""
    from planner.model.effort import QUICK
    from planner.pipeline.run import run

    plan = run(replace(dried_job(), effort=QUICK))
    assert faults(plan) == ()
    assert plan.schedule.drying
    assert plan.schedule.runs[0].start > plan.schedule.drying[0].take_out
    assert next(goal.value for goal in plan.goals if goal.name == "visits") >= len(plan.schedule.visits)


@pytest.mark.slow
def test_a_plan_goes_on_from_what_was_dried(tmp_path: Path) -> None:
    """In the dryer when the first plan begins again, dried in the one after that: never dried twice."""
    write_small_job(tmp_path / "glider")
    file = tmp_path / "glider" / "workshop.toml"
    told = '[dryer]\nspools = 2\n[[filament]]\nname = "PLA"\nneeds_drying = true\nopen_hours = 90\n'
    file.write_text(file.read_text(encoding="utf-8") + told, encoding="utf-8")

    def asked(start: str, since: str = "") -> PlanRequest:
        base = PlanRequest((tmp_path / "glider",), out=tmp_path / start[:13], effort="quick", start=start)
        before = SinceRequest(tmp_path / since, Marks(as_planned=True)) if since else None
        return replace(base, verify=True, since=before)

    first = plan_folder(asked("2026-12-01T18:00"), NOW)
    assert faults(first) == ()
    (load,) = first.schedule.drying
    inside = plan_folder(asked("2026-12-01T19:00", "2026-12-01T18"), NOW)
    out = load.take_out
    after = plan_folder(asked(f"{out:%Y-%m-%dT%H:%M}", "2026-12-01T19"), NOW)
    later = plan_folder(asked(f"{out + timedelta(hours=1):%Y-%m-%dT%H:%M}", f"{out:%Y-%m-%dT%H}"), NOW)
    for plan in (inside, after, later):
        assert faults(plan) == ()
        assert [one.spools for one in plan.schedule.drying] == [load.spools]
        assert [one.put_in for one in plan.schedule.drying] == [load.put_in]
    assert any("dried as the earlier plan said" in text for text in after.assumptions)


def test_what_is_proved_of_fewer_printers_is_not_told_of_all() -> None:
    """Two spools at once, where but one at a time is dry: one printer of two that are alike is left."""
    job = dried_job()
    (filament,) = job.workshop.filaments
    short = replace(filament, open_hours=7.0)
    first = replace(job.workshop.printers[0], filaments=("PLA", "other"))
    shop = replace(
        job.workshop,
        printers=(first, replace(first, name="c")),
        filaments=(short, replace(filament, name="other")),
        spools=(Spool("1", "PLA", 500.0), Spool("2", "PLA", 500.0)),
    )
    task = replace(compose_task(job, weighed(job)), workshop=shop)
    out = task.start + timedelta(hours=6)

    def search(asked: ComposeTask) -> Composition:
        able = [one.name for one in asked.workshop.printers if "PLA" in one.filaments]
        runs = tuple(
            Run(f"run {n}", f"bed {n}", name, out + MARGIN, out + 2 * MARGIN, True, (Draw(str(n), 1.0),), 1.0)
            for n, name in enumerate(able, start=1)
        )
        beds = tuple(Batch(run.batch, "a", "PLA", 0.2, (), 30.0, 1.0, 9.0, 0.5) for run in runs)
        schedule = Schedule(runs, (), out, 1.0, {}, 0.5, 1.0, 0, 0, 0.5)
        return Composition(beds, (), schedule, ())

    made = composed_dry(task, search)
    assert [run.printer for run in made.schedule.runs] == ["a"]
    assert [load.spools for load in made.schedule.drying] == [("1",)]
    assert (made.schedule.lower_bound_h, made.schedule.proven_gap, made.schedule.beds_bound_h) == (None,) * 3


def test_without_anything_to_dry_the_search_is_asked_as_it_is() -> None:
    """The very same task, and its answer."""
    job = sample_job()
    task = compose_task(job, weighed(job))
    seen: list[object] = []

    def search(asked: object) -> str:
        seen.append(asked)
        return "found"

    assert composed_dry(task, search) == "found"  # type: ignore[arg-type,comparison-overlap]
    assert seen == [task]
