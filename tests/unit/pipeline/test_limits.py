"""The independent check knows the limits of a bed."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from planner.api import PlanRequest
from planner.api.reading import read_job
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    folder = write_small_job(tmp_path_factory.mktemp("limits") / "glider")
    return run(read_job(PlanRequest((folder,), effort="quick", start="2026-12-01T18:00"), NOW))


def judged(plan, **limits):
    return " ".join(faults(replace(plan, workshop=replace(plan.workshop, **limits))))


def test_a_plan_without_limits_breaks_each_of_them(plan):
    """Long runs, many pieces, sections mixed, a piece that is not alone: each is told, and nothing else."""
    assert faults(plan) == ()
    assert "longest_run_h = 0.1" in judged(plan, longest_run_h=0.1)
    few = tuple(replace(f, most_pieces=1) for f in plan.workshop.filaments)
    assert any(len(batch.placed) > 1 for batch in plan.batches)
    assert "most_pieces = 1" in judged(plan, filaments=few)
    few = tuple(replace(p, most_pieces=1) for p in plan.workshop.printers)
    assert "most_pieces = 1" in judged(plan, printers=few)
    alone = replace(plan, parts=tuple(replace(part, alone=True) for part in plan.parts))
    assert "lies alone" in " ".join(faults(alone))
    apart = replace(plan, pieces=tuple(replace(p, section=f"s{n}") for n, p in enumerate(plan.pieces)))
    told = " ".join(faults(replace(apart, workshop=replace(apart.workshop, mix_sections=False))))
    assert "mixes sections" in told


def test_a_parted_pair_is_found(plan):
    """Two pieces that share no bed become hands of each other."""
    first, second = next((a, b) for a in plan.batches for b in plan.batches if a.name != b.name)
    left, right = first.placed[0].piece, second.placed[0].piece
    part = next(p.part for p in plan.pieces if p.name == left)
    hands = {left: "left", right: "right"}
    pieces = tuple(
        replace(p, part=part, hand=hands[p.name]) if p.name in hands else replace(p, hand="none")
        for p in plan.pieces
    )
    parts = tuple(replace(p, stack=None) if p.name == part else p for p in plan.parts)
    broken = replace(plan, pieces=pieces, parts=parts)
    told = " ".join(faults(replace(broken, workshop=replace(broken.workshop, pairs_together=True))))
    assert "1 of 1 pairs" in told
