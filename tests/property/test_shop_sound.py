"""Random workshops with limits, spools that come later and ways to buy: plans keep all of it, replans too."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.errors import Infeasible
from planner.model.plan import Plan
from planner.model.replan import EarlierPlan, Marks
from planner.model.workshop import Workshop
from planner.pipeline.job import Job
from planner.pipeline.replan.replan import run_since
from planner.pipeline.replan.verify import since_faults
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.kits.jobs import random_job
from tests.kits.limits import moment, with_limits
from tests.property.test_plan_read_back import read_back

FEW, MANY = (2, 3), range(120)
NAMED = re.compile(r"longest_run_h|pairs_together|most_pieces|buy = |attendance|nobody|persons|fits|spool")


def job_of(seed: int) -> tuple[Job, np.random.Generator]:
    rng = np.random.default_rng(50_000 + seed)
    return with_limits(random_job(seed), rng), rng


def untold(plan: Plan) -> Iterator[str]:
    """Limits that hold for a bed of the plan and of which the plan says nothing."""
    told, shop = "\n".join(plan.assumptions), plan.workshop
    for batch in plan.batches:
        filament = shop.filament(batch.filament)
        printers = [p for p in shop.printers if p.kind == batch.printer_kind]
        for key, owners in (
            ("longest_run_h", (shop, filament, *printers)),
            ("most_pieces", (filament, *printers)),
        ):
            said = [value for one in owners if (value := getattr(one, key)) is not None]
            line = (
                rf"{re.escape(filament.name)} on {re.escape(batch.printer_kind)}: .*{key} = {min(said):g}"
                if said
                else ""
            )
            if said and not re.search(line, told):
                yield f"{batch.name}: {key} = {min(said):g} is not told"
    alone = {part.name for part in plan.parts if part.alone}
    if shop.pairs_together and "pairs_together" not in told:
        yield "pairs_together is not told"
    if not shop.mix_sections and "mix_sections" not in told:
        yield "mix_sections is not told"
    for part in alone & {piece.part for piece in plan.pieces}:
        if not re.search(rf"alone = true.*{re.escape(part)}", told):
            yield f"{part} is alone, which is not told"


def judged(plan: Plan) -> tuple[str, ...]:
    return (*faults(plan), *untold(plan))


def late(plan: Plan, workshop: Workshop) -> Iterator[str]:
    """Spools of a plan that goes on that are at hand on another day than the workshop says."""
    told = {spool.name: spool.at_hand_from for spool in workshop.spools}
    for spool in plan.workshop.spools:
        if told.get(spool.name) != spool.at_hand_from:
            yield f"{spool.name} is at hand from {spool.at_hand_from}, told was {told.get(spool.name)}"


def on_the_scale(workshop: Workshop, rng: np.random.Generator, job: Job) -> Workshop:
    """Half of the spools hold less than was thought; some come on another day than was told."""
    spools = []
    for spool in workshop.spools:
        if rng.random() < 0.5:
            spool = replace(spool, grams_left=round(float(rng.uniform(0.0, spool.grams_left)), 1))
        if rng.random() < 0.2:
            spool = replace(spool, at_hand_from=moment(rng, job.start))
        spools.append(spool)
    return replace(workshop, spools=tuple(spools))


def marks_of(earlier: EarlierPlan, job: Job, rng: np.random.Generator) -> Marks:
    """What has ended is done, has failed, or runs on; what has begun runs or has failed."""
    ended = [run.batch for run in earlier.runs if run.end <= job.start]
    begun = [run.batch for run in earlier.runs if run.start < job.start < run.end]
    failed = tuple(name for name in (*ended, *begun) if rng.random() < 0.25)
    last = {run.printer: run.batch for run in earlier.runs if run.start < job.start}
    still = [name for name in ended if name in last.values() and name not in failed]
    return Marks(failed=failed, running=tuple(n for n in still if rng.random() < 0.2), as_planned=True)


def gone_on(job: Job, plan: Plan, rng: np.random.Generator) -> tuple[Job, Plan, EarlierPlan, Marks]:
    """A plan that goes on from another at some moment of it, with what was weighed and marked until then."""
    earlier = read_back(plan)
    length = max(timedelta(minutes=60), plan.schedule.finish - plan.start)
    minutes = int(length / timedelta(minutes=1) * rng.uniform(0.1, 0.9))
    job = replace(job, start=plan.start + timedelta(minutes=minutes))
    job = replace(job, workshop=on_the_scale(job.workshop, rng, job))
    marks = marks_of(earlier, job, rng)
    return job, run_since(job, earlier, marks), earlier, marks


def lived(seed: int) -> tuple[Counter[str], list[tuple[int, int, tuple[str, ...]]]]:
    """What came of a plan and two that go on: how many were made or refused, and what is wrong with which."""
    job, rng = job_of(seed)
    came: Counter[str] = Counter()
    found: list[tuple[int, int, tuple[str, ...]]] = []
    try:
        plan = run(job)
        came["plans"] += 1
        found.append((seed, 0, judged(plan)))
        for turn in (1, 2):
            job, plan, earlier, marks = gone_on(job, plan, rng)
            came["replans"] += 1
            later = (*judged(plan), *late(plan, job.workshop), *since_faults(plan, earlier, marks))
            found.append((seed, turn, later))
    except Infeasible as refused:
        came["refused"] += 1
        if not NAMED.search(str(refused)):
            found.append((seed, -1, (f"no cause is named: {refused}",)))
    return came, found


def all_sound(seeds: Iterable[int]) -> Counter[str]:
    came: Counter[str] = Counter()
    wrong = []
    for seed in seeds:
        some, found = lived(seed)
        came += some
        wrong += [one for one in found if one[2]]
    assert wrong == []
    return came


def test_limits_and_spools_hold_in_plans_and_in_those_that_go_on() -> None:
    """Two random workshops, two replans each, of which at least half can be planned."""
    came = all_sound(FEW)
    assert came["plans"] >= len(FEW) // 2
    assert came["replans"] >= len(FEW) // 2


@pytest.mark.slow
def test_limits_and_spools_hold_in_a_hundred_and_twenty_workshops() -> None:
    """The same for a hundred and twenty."""
    came = all_sound(MANY)
    assert came["plans"] >= len(MANY) // 2
    assert came["replans"] >= len(MANY) // 2
