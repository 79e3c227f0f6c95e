"""Sections of one lot: which pieces ask for it, which lots they come from, and what is said of several."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.model.one_lot import OneLot
from planner.model.part import Piece
from planner.model.plan import Plan
from planner.model.replan import PastRun
from planner.pipeline.job import Job
from planner.pipeline.lots import told_lots, with_lots
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from planner.pipeline.verify_lots import lot_faults
from tests.kits.jobs import random_job
from tests.plan_samples import START, sample_plan


def in_lots(**lots: str) -> Plan:
    """The sample plan with a section that asks for one lot, and the lots of some spools."""
    plan = sample_plan()
    named = {name.replace("_", " "): lot for name, lot in lots.items()}
    spools = tuple(replace(one, lot=named.get(one.name, "")) for one in plan.workshop.spools)
    wing = next(piece.section for piece in plan.pieces if piece.name == "wing root L")
    return replace(
        plan,
        workshop=replace(plan.workshop, spools=spools),
        airframe=replace(plan.airframe, one_lot=(wing,)),
    )


def test_pieces_of_a_section_and_the_spools_of_those_that_are_there() -> None:
    """Past beds count with the pieces that they left for use; without a wish the job is what it was."""
    plan = in_lots()
    (wing,) = plan.airframe.one_lot
    pieces = (Piece("a", "a", False, section=wing), Piece("b", "b", False, section="tail"))
    job = Job(plan.airframe, plan.workshop, {}, START)
    assert with_lots(job, pieces).workshop.of_one_lot == (OneLot(wing, frozenset({"a"})),)
    bed = replace(plan.batches[0], placed=(replace(plan.batches[0].placed[0], piece="a"),))
    past = PastRun(plan.schedule.runs[0], bed, "done")
    spools = tuple(sorted(draw.spool for draw in past.run.draws))
    assert with_lots(job, pieces, (past,)).workshop.of_one_lot[0].before == spools
    lost = replace(past, outcome="failed")
    assert with_lots(job, pieces, (lost,)).workshop.of_one_lot[0].before == ()
    free = replace(job, airframe=replace(job.airframe, one_lot=()))
    assert with_lots(free, pieces) is free


def test_lots_are_told_and_several_are_found() -> None:
    """Bed 1 from spool 3, bed 3 from a spool to buy: two lots; a lot that is not told is its spool."""
    plan = told_lots(in_lots(spool_3="A7"))
    (one,) = plan.lots
    assert [(lot, set(own)) for lot, own in one.lots] == [
        ("A7", {"wing root L", "wing mid L"}),
        ("new", {"wing tip L"}),
    ]
    assert list(lot_faults(plan)) == []
    (found,) = [f for f in plan.findings if f.about == f"section {one.section}"]
    assert found.text == (
        "asks for one lot of foaming PLA and comes from 2: wing tip L from new, the rest from A7"
    )
    bare = told_lots(in_lots())
    assert [lot for lot, _ in bare.lots[0].lots] == ["spool spool 3", "new"]
    counted = replace(in_lots(), workshop=replace(in_lots().workshop, spools=()))
    assert told_lots(counted) is counted
    assert list(lot_faults(counted)) == []


def test_one_lot_is_no_finding() -> None:
    """Where a section asks and has it, nobody need look."""
    plan = in_lots(spool_3="A7")
    mine = tuple(run for run in plan.schedule.runs if run.batch == "bed 1")
    first = replace(plan, schedule=replace(plan.schedule, runs=mine))
    made = told_lots(first)
    assert [lot for lot, _ in made.lots[0].lots] == ["A7"]
    assert not [f for f in made.findings if f.about.startswith("section ")]


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_random_kits_in_lots_are_sound(seed: int) -> None:
    """Every section asks for one lot, spools are of two or of none that is told: each plan holds."""
    one, rng = random_job(seed), np.random.default_rng(seed + 7)
    homes = {name for part in one.airframe.parts for name in (part.section, part.other_section) if name}
    spools = tuple(replace(s, lot=("A", "B", "")[rng.integers(0, 3)]) for s in one.workshop.spools)
    asked = replace(
        one,
        airframe=replace(one.airframe, one_lot=tuple(sorted(homes))),
        workshop=replace(one.workshop, spools=spools),
    )
    plan, free = run(asked), run(replace(asked, airframe=one.airframe))
    assert faults(plan) == ()
    assert [use.bought for use in plan.spools].count(True) == [use.bought for use in free.spools].count(True)
    before = told_lots(replace(free, airframe=asked.airframe))
    assert sum(len(row.lots) for row in plan.lots) <= sum(len(row.lots) for row in before.lots)
