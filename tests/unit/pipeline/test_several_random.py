"""Two and three random airframes in random workshops: each whole, sums that add up, no later than in turn."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from planner.model.plan import Plan
from planner.model.several import BETWEEN
from planner.pipeline.airframe_sums import airframe_sums
from planner.pipeline.run import run
from planner.pipeline.several import in_place, weighed_all
from planner.pipeline.verify import faults
from planner.report.exports.plan_json import plan_json
from tests.kits.several import several

pytestmark = pytest.mark.slow


def owners(plan: Plan) -> list[set[str]]:
    """The airframes whose pieces lie on each bed."""
    return [{placed.piece.split(BETWEEN)[0] for placed in batch.placed} for batch in plan.batches]


@pytest.mark.parametrize(
    ("seeds", "copies", "mix", "shop"),
    [
        ((1, 2), 1, True, True),
        ((3, 4), 1, True, False),
        ((5, 6, 7), 1, False, True),
        ((8, 9), 2, True, True),
        ((10,), 5, True, True),
        ((11, 12), 3, True, False),
    ],
)
def test_every_airframe_is_whole_and_the_sums_add_up(
    seeds: tuple[int, ...], copies: int, mix: bool, shop: bool
) -> None:
    job = several(seeds, copies, mix=mix, shop=shop, pieces=3 if copies > 1 else None)
    plan = run(job)
    assert faults(plan) == ()
    assert len(plan.airframes) == len(seeds) * copies
    assert Counter(p.name for p in plan.pieces).most_common(1)[0][1] == 1
    alone = f"kit {len(seeds) - 1}"
    for found in owners(plan):
        assert shop or len(found) == 1
        assert mix or alone not in found or len(found) == 1
    assert sum(one.cost_minor for one in plan.airframes) == plan.cost.total_minor
    assert sum(one.mass.total_g for one in plan.airframes) == pytest.approx(plan.mass.total_g)
    hours = sum((r.end - r.start).total_seconds() / 60.0 for r in plan.schedule.runs)
    assert sum(one.minutes for one in plan.airframes) == pytest.approx(hours)
    assert max(one.finish for one in plan.airframes if one.finish) == plan.schedule.finish
    for one in plan.airframes:
        fittings = one.by_kind_minor.get("fittings", 0)
        assert fittings == 1299
    assert plan_json(run(job)) == plan_json(plan)


@pytest.mark.parametrize("seeds", [(1, 2), (5, 6)])
def test_two_together_end_no_later_than_one_after_the_other(seeds: tuple[int, int]) -> None:
    plan = run(several(seeds))
    first = run(several(seeds[:1]))
    after = several(seeds[1:])
    shop = first.workshop  # the second one begins when the first has ended, in the workshop of the first
    second = run(replace(after, workshop=replace(shop, spools=()), start=first.schedule.finish))
    assert plan.schedule.finish <= second.schedule.finish


def test_copies_repeat_the_beds_of_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planner.joint_search.series.MOST_JOINTLY", 1)
    plan = run(several((10,), 4, pieces=3))
    assert faults(plan) == ()
    firsts = [batch for batch in plan.batches if not batch.repeats]
    assert len(plan.batches) == 4 * len(firsts)
    assert Counter(b.repeats for b in plan.batches if b.repeats) == {b.name: 3 for b in firsts}
    assert any("repeated: each is printed 4 times" in note for note in plan.assumptions)
    weights = {round(one.mass.total_g, 6) for one in plan.airframes}
    assert len(weights) == 1
    moved = plan.batches[0].placed[0]
    other = next(b for b in plan.batches if b.repeats)
    broken = replace(other, placed=(replace(other.placed[0], x_mm=moved.x_mm + 1.0), *other.placed[1:]))
    batches = tuple(broken if b is other else b for b in plan.batches)
    assert any("told to repeat" in fault for fault in faults(replace(plan, batches=batches)))


def test_what_is_estimated_once_serves_every_copy() -> None:
    job = in_place(several((10,), 3, pieces=2))
    seen: list[tuple[int, int]] = []
    known = weighed_all(job, lambda _, done, total: seen.append((done, total)))
    assert seen[-1] == (2, 2)  # two parts, not six
    assert len({deposit.mass_g for deposit in known.deposits.values()}) == 2
    assert len(known.members) == 3
    assert airframe_sums(run(replace(job, airframe=job.airframe.members[0])), known.members[0]) == ()
