"""What weigh-ins tell of the whole, on a plan by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime
from statistics import NormalDist
from typing import Any

import pytest

from planner.learning.grams import learned_grams
from planner.model.learned import Lesson, Taught, WeighedGrams, WeighedPiece, WeighIn
from planner.model.outlook import Outlook
from planner.model.plan import Plan
from planner.model.replan import PastRun
from planner.pipeline.outlook import target_chance, with_outlook
from planner.weights.spread import Z_HIGH, deviation, low_and_high
from tests.plan_samples import sample_plan

PLAN = sample_plan()
AT = datetime(2026, 12, 1, 20, 0, tzinfo=UTC)


def taught_plan(count: int) -> Plan:
    """The sample plan after its first bed, of which so many pieces were weighed, 5 % heavier."""
    run = PLAN.schedule.runs[0]
    bed = next(one for one in PLAN.batches if one.name == run.batch)
    parts = {part.name: part for part in PLAN.parts}
    part_of = {piece.name: parts[piece.part] for piece in PLAN.pieces}
    items = {item.what: item for item in PLAN.mass.items}
    names = [placed.piece for placed in bed.placed]
    spool = run.draws[0].spool
    seen = [
        WeighIn(
            (
                WeighedPiece(
                    name,
                    items[name].mass_g,
                    bed.filament,
                    part_of[name].recipe.name,
                    run.printer,
                    spool,
                ),
            ),
            1.05 * items[name].mass_g,
            at=AT,
            airframe=PLAN.airframe.name,
        )
        for name in names[:count]
    ]
    kinds = {(part.filament, part.recipe.name) for part in PLAN.parts}
    more = [WeighedPiece("p", 1.0, f, r, run.printer, f"the next spool of {f}") for f, r in kinds]
    learned = learned_grams(seen, PLAN.workshop.filaments, more)
    lessons = {kind: learned.lesson(*kind, (run.printer,)) for kind in kinds} if seen else {}
    weighed = {name: WeighedGrams(1.05 * items[name].mass_g, 0.001) for name in names[:count]}
    found: list[Any] = []
    for item in PLAN.mass.items:
        if item.what in weighed:
            found.append(replace(item, mass_g=weighed[item.what].grams, spread=0.001, spread_shared=0.0))
        elif item.what in part_of and lessons:
            lesson: Lesson = lessons[part_of[item.what].filament, part_of[item.what].recipe.name]
            told = {"spread": lesson.spread, "spread_shared": 0.0, "loads": lesson.loads}
            found.append(replace(item, mass_g=item.mass_g * lesson.factor, **told))
        else:
            found.append(item)

    total = sum(item.mass_g for item in found)
    low, high = low_and_high(total, deviation(found, [1.0] * len(found)))
    mass = replace(PLAN.mass, items=tuple(found), total_g=total, low_g=low, high_g=high, target_g=total + 5.0)
    taught = Taught(
        5,
        lessons=lessons,
        weighed=weighed,
        judged=learned.judged,
        predicted={item.what: item.mass_g for item in PLAN.mass.items},
    )
    return replace(PLAN, mass=mass, taught=taught, past=(PastRun(run, bed, "done"),))


def test_the_course_ends_at_the_mass_of_the_plan() -> None:
    """Its first step is what the tables alone say, its last what the plan says, range and all."""
    plan = with_outlook(taught_plan(3))
    assert plan.taught is not None
    outlook = plan.taught.outlook
    assert outlook is not None
    first, *_, last = outlook.course
    assert len(outlook.course) == 4
    assert first.mass_g == pytest.approx(PLAN.mass.total_g)
    assert (last.mass_g, last.low_g, last.high_g) == pytest.approx(
        (plan.mass.total_g, plan.mass.low_g, plan.mass.high_g)
    )
    assert last.high_g - last.low_g < first.high_g - first.low_g


def test_only_pieces_that_are_there_and_not_weighed_are_proposed() -> None:
    plan = with_outlook(taught_plan(2))
    assert plan.taught is not None
    assert plan.taught.outlook is not None
    on_bed = {placed.piece for placed in plan.past[0].batch.placed}
    proposed = [one.piece for one in plan.taught.outlook.weigh_next]
    assert set(proposed) == on_bed - set(plan.taught.weighed)
    wide = [one.high_g - one.low_g for one in plan.taught.outlook.weigh_next]
    assert wide == sorted(wide)
    assert wide[-1] < plan.mass.high_g - plan.mass.low_g
    broken = replace(plan.past[0], scrapped=(proposed[0],))
    again = with_outlook(replace(plan, past=(broken,)))
    assert proposed[0] not in {one.piece for one in again.taught.outlook.weigh_next}  # type: ignore[union-attr]


def test_the_chance_of_the_target_by_hand() -> None:
    """5 g of room at the standard deviation of the range."""
    plan = with_outlook(taught_plan(1))
    sigma = (plan.mass.high_g - plan.mass.total_g) / Z_HIGH
    assert plan.taught is not None
    assert plan.taught.outlook is not None
    assert plan.taught.outlook.chance == pytest.approx(NormalDist().cdf(5.0 / sigma))
    sure = replace(plan.mass, low_g=plan.mass.total_g, high_g=plan.mass.total_g)
    assert target_chance(sure) == 1.0
    assert target_chance(replace(sure, target_g=1.0)) == 0.0
    assert target_chance(replace(sure, target_g=None)) is None
    assert target_chance(replace(plan.mass, target_g=plan.mass.high_g)) == pytest.approx(0.9)


def test_without_a_weigh_in_there_is_no_course() -> None:
    assert with_outlook(PLAN) is PLAN
    plan = with_outlook(taught_plan(0))
    assert plan.taught is not None
    assert plan.taught.outlook == Outlook(chance=target_chance(plan.mass))
    assert math.isfinite(plan.taught.outlook.chance or 0.0)
