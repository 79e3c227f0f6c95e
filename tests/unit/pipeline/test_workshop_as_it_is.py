"""A small job from meshes to a verified plan, with what is away and what must be changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, SinceRequest, plan_folder
from planner.estimate.cache import deposit_key
from planner.model.away import Away
from planner.model.batch import Batch
from planner.model.effort import QUICK
from planner.model.fit import Fit
from planner.model.plan import Plan
from planner.model.replan import Marks
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from planner.pipeline.verify_asked import asked_faults
from tests.small_job import write_small_job
from tests.small_sample import sample_job

GONE = (Away(date(2026, 1, 5), date(2026, 1, 6), "repair"),)


@pytest.mark.slow
def test_a_small_job_in_a_workshop_as_it_is() -> None:
    """Printer a is being repaired, the filament is damp for a day, a recipe asks for a thick nozzle."""
    job = replace(sample_job(), effort=QUICK)
    one, two = job.workshop.printers
    shop = replace(
        job.workshop,
        printers=(replace(one, away=GONE), replace(two, nozzles=("0.6",))),
        filaments=(replace(job.workshop.filaments[0], away=(Away(date(2026, 1, 5), date(2026, 1, 5)),)),),
    )
    parts = tuple(
        replace(p, recipe=replace(p.recipe, nozzle_mm=0.6)) if p.name == "skin" else p
        for p in job.airframe.parts
    )
    plan = run(replace(job, workshop=shop, airframe=replace(job.airframe, parts=parts)))
    assert faults(plan) == ()
    thick = [batch for batch in plan.batches if batch.fit == Fit(0.6)]
    assert {placed.piece.split()[0] for batch in thick for placed in batch.placed} == {"skin"}
    assert {run.printer for run in plan.schedule.runs if run.batch in {b.name for b in thick}} == {two.name}
    assert min(run.start for run in plan.schedule.runs).date() == date(2026, 1, 6)
    tasks = [task for visit in plan.schedule.visits for task in visit.tasks]
    assert any(task.startswith("put the 0.6 nozzle on") for task in tasks)


def test_the_deposit_does_not_depend_on_when_and_on_what_plate() -> None:
    """Nor can a date stand in the way of its key."""
    job = sample_job()
    part, filament = job.airframe.parts[0], job.workshop.filaments[0]
    mesh, motions = job.meshes[part.mesh], {"a": job.workshop.printers[0].motion}
    key = deposit_key(mesh, part, filament, motions)
    other = replace(filament, away=GONE, nozzle_mm=0.6, hardened_nozzle=True, plate="rough")
    assert deposit_key(mesh, part, other, motions) == key
    assert deposit_key(mesh, replace(part, recipe=replace(part.recipe, plate="x")), filament, motions) == key


def test_a_bed_that_asks_for_other_than_its_parts_is_found() -> None:
    """The rule, broken."""
    job = sample_job()
    part = replace(job.airframe.parts[0], recipe=replace(job.airframe.parts[0].recipe, nozzle_mm=0.6))
    bed = Batch("bed 1", "a", "PLA", 0.2, (), 5.0, 5.0, 5.0, 0.5, fit=Fit(0.6))
    assert list(asked_faults(bed, [part], job.workshop)) == []
    told = list(asked_faults(replace(bed, fit=Fit()), [part], job.workshop))
    assert len(told) == 1
    assert told[0].startswith("bed 1 is printed with nozzle and plate (None, False, '')")


@pytest.mark.slow
def test_a_build_whose_printer_goes_away(tmp_path: Path) -> None:
    """From files: a plan, then a repair in the workshop file, and a plan that goes on around it."""
    folder = tmp_path / "glider"
    write_small_job(folder)

    def plan(out: str, start: str, since: SinceRequest | None = None) -> Plan:
        asked = PlanRequest(
            (folder,), out=tmp_path / out, effort="quick", start=start, verify=True, since=since
        )
        return plan_folder(asked, datetime(2026, 12, 1, 18, tzinfo=UTC))

    first = plan("first", "2026-12-01T18:00")
    run_ = first.schedule.runs[0]
    shop = folder / "workshop.toml"
    text = shop.read_text(encoding="utf-8")
    name = f'name = "{run_.printer}"\n'
    assert name in text
    span = 'away = [{ from = 2026-12-01T19:00:00, until = 2026-12-03, why = "repair" }]\n'
    text = text.replace(name, name + span + 'nozzles = ["0.6"]\n')
    text += '[[spool]]\nname = "lent"\nfilament = "PLA"\ngrams_left = 900\naway = [{ from = 2026-11-30 }]\n'
    shop.write_text(text, encoding="utf-8")
    marks = Marks(running=(run_.batch,))
    second = plan("second", "2026-12-01T18:30", SinceRequest(tmp_path / "first", marks))
    told = [one.text for one in second.findings if one.about == run_.batch]
    assert any(f"printer {run_.printer} is away from 2026-12-01 19:00" in text for text in told)
    back = datetime(2026, 12, 4, tzinfo=UTC)
    later = [one for one in second.schedule.runs if one.printer == run_.printer and one.mark != "running"]
    assert all(one.start >= back for one in later)
    assert all(draw.spool != "lent" for one in second.schedule.runs for draw in one.draws)
    third = plan("third", "2026-12-01T18:40", SinceRequest(tmp_path / "second", Marks(failed=(run_.batch,))))
    assert all(one.start >= back for one in third.schedule.runs if one.printer == run_.printer)
    assert third.workshop.printers[0].away or third.workshop.printers[1].away
