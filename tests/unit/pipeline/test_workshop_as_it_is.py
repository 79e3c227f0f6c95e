"""A small job from meshes to a verified plan, with what is away and what must be changed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from planner.estimate.cache import deposit_key
from planner.model.away import Away
from planner.model.batch import Batch
from planner.model.effort import QUICK
from planner.model.fit import Fit
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from planner.pipeline.verify_asked import asked_faults
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
