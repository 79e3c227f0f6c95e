"""Every plan that is written is read, and what is read is what was written."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.errors import Infeasible
from planner.io.results.plan_file import read_plan
from planner.model.batch import Batch
from planner.model.budget import Place
from planner.model.plan import Plan
from planner.model.printed import PrintedPiece
from planner.model.replan import EarlierPlan, Marks
from planner.model.schedule import Run, SpoolUse
from planner.nesting.problem.item import Item
from planner.nesting.problem.placement import lay_box
from planner.pipeline.replan.replan import run_since
from planner.pipeline.run import run
from planner.report.exports.plan_json import plan_json
from tests.kits.jobs import random_job
from tests.plan_samples import sample_plan

MANY = 40


def read_back(plan: Plan) -> EarlierPlan:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "plan.json"
        path.write_text(plan_json(plan), encoding="utf-8")
        return read_plan(path)


def told_batch(batch: Batch) -> Batch:
    """A batch with the digits that a plan tells."""
    placed = tuple(
        replace(
            one,
            x_mm=round(one.x_mm, 3),
            y_mm=round(one.y_mm, 3),
            turn_deg=round(one.turn_deg, 3),
            height_mm=round(one.height_mm, 3),
            outline_mm=tuple((round(x, 3), round(y, 3)) for x, y in one.outline_mm),
        )
        for one in batch.placed
    )
    return replace(
        batch,
        placed=placed,
        minutes=round(batch.minutes, 2),
        mass_g=round(batch.mass_g, 3),
        height_mm=round(batch.height_mm, 3),
        layer_height_mm=round(batch.layer_height_mm, 4),
        fill=round(batch.fill, 4),
    )


def told_run(run_: Run) -> Run:
    draws = tuple(replace(draw, grams=round(draw.grams, 3)) for draw in run_.draws)
    return replace(run_, draws=draws, purge_g=round(run_.purge_g, 3))


def told_spool(use: SpoolUse) -> SpoolUse:
    return replace(
        use,
        grams_before=round(use.grams_before, 3),
        grams_used=round(use.grams_used, 3),
        grams_purged=round(use.grams_purged, 3),
        grams_left=round(use.grams_left, 3),
    )


def told_piece(one: PrintedPiece) -> PrintedPiece:
    place = one.place
    if place is not None:
        sides = [None if v is None else round(v, 3) for v in (place.across_mm, place.up_mm)]
        place = Place(round(place.station_mm, 3), *sides, "as it was printed")
    return replace(one, mass_g=round(one.mass_g, 3), flying_g=round(one.flying_g, 3), place=place)


def assert_same(plan: Plan, read: EarlierPlan) -> None:
    """Beds, runs, spools, what is over, parts and pieces: all of it as it was written."""
    assert read.batches == tuple(told_batch(batch) for batch in plan.batches)
    assert read.runs == tuple(told_run(run_) for run_ in plan.schedule.runs)
    assert read.spools == tuple(told_spool(use) for use in plan.spools)
    assert read.past == tuple(
        replace(past, run=told_run(past.run), batch=told_batch(past.batch)) for past in plan.past
    )
    assert read.part_of == {piece.name: piece.part for piece in plan.pieces}
    assert (read.start, read.finish) == (plan.start, plan.schedule.finish)
    told = {one.piece: told_piece(one) for one in plan.printed}
    assert read.printed == told
    assert read.choices == plan.choices
    assert read.weights.keys() == {piece.name for piece in plan.pieces}
    for part in plan.parts:
        assert read.parts[part.name].make == plan.makes[part.name]
        known = read.parts[part.name]
        assert (known.filament, known.recipe) == (part.filament, part.recipe.name)
        assert known.mass_g == pytest.approx(plan.deposits[part.name].mass_g, abs=5e-4)


def written_and_read(seed: int) -> None:
    """A plan, and one that goes on from what was read at a random moment, with random failures."""
    rng = np.random.default_rng(seed)
    job = random_job(seed)
    try:
        plan = run(job)
    except Infeasible:
        return
    for _ in range(2):
        earlier = read_back(plan)
        assert_same(plan, earlier)
        length = max(timedelta(minutes=60), plan.schedule.finish - plan.start)
        job = replace(job, start=plan.start + timedelta(minutes=int(length / timedelta(minutes=1) * 0.6)))
        over = [one.batch for one in earlier.runs if one.start < job.start]
        failed = tuple(name for name in over if rng.random() < 0.3)
        try:
            plan = run_since(job, earlier, Marks(failed=failed, as_planned=True))
        except Infeasible:
            return
    assert_same(plan, read_back(plan))


@pytest.mark.slow
@settings(max_examples=3, deadline=None, derandomize=True)
@given(st.integers(min_value=0, max_value=10_000))
def test_every_plan_that_is_written_is_read_as_it_was(seed: int) -> None:
    """Random workshops and kits with pins, first plans and those that go on."""
    written_and_read(seed)


@pytest.mark.slow
def test_forty_plans_are_read_as_they_were_written() -> None:
    """The same for forty kits in a row."""
    for seed in range(MANY):
        written_and_read(seed)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(
    st.floats(min_value=-360.0, max_value=720.0),
    st.floats(min_value=3.0, max_value=200.0),
    st.floats(min_value=3.0, max_value=200.0),
)
def test_a_piece_at_any_turn_is_read_as_it_was_written(turn: float, wide: float, deep: float) -> None:
    """Turned about its own corner, a piece in the corner of the bed has its anchor beyond the edge."""
    plan = sample_plan()
    batch = plan.batches[0]
    item = Item("x", ((0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep)), (), 5.0, None, "", "x")
    placed = replace(lay_box(item, 0.0, 0.0, turn), piece=batch.placed[0].piece)
    bed = replace(batch, placed=(placed,))
    assert read_back(replace(plan, batches=(bed, *plan.batches[1:]))).batches[0] == told_batch(bed)
