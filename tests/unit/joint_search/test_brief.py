"""The first plan is told before the budget of a long search is spent, and changes nothing of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from planner.joint_search import search
from planner.joint_search.brief import tell_briefly
from planner.joint_search.composition import ComposeTask
from planner.model.batch import Batch
from planner.model.effort import QUICK
from planner.model.schedule import Schedule
from planner.scheduling.spools.spools import assign_spools
from planner.scheduling.verify import verify_schedule
from planner.scheduling.visits import visits_of
from tests.unit.joint_search.tasks import make_task

LONGER = replace(QUICK, name="longer", schedule_steps=2 * QUICK.schedule_steps)

Told = list[tuple[Sequence[Batch], Schedule]]


@pytest.fixture(scope="module")
def task() -> ComposeTask:
    return replace(make_task(seed=3, parts=14, printers=2), effort=LONGER)


def test_what_is_told_is_a_sound_plan(task: ComposeTask) -> None:
    """Every piece lies on one bed, and its runs pass the independent check."""
    told: Told = []
    assert tell_briefly(task, lambda batches, schedule: told.append((batches, schedule)))
    ((batches, schedule),) = told
    assert sorted(p.piece for b in batches for p in b.placed) == sorted(p.name for p in task.pieces)
    runs, spools = assign_spools(schedule, batches, task.workshop)
    visits = visits_of(runs, {batch.name: batch for batch in batches}, task.workshop, task.start)
    whole = replace(schedule, runs=runs, visits=visits, interventions=len(visits))
    assert verify_schedule(whole, spools, batches, task.workshop, task.start) == ()


def test_it_is_told_once_before_any_bed_of_the_search_is_scheduled(
    task: ComposeTask, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And the plan is the very same as without anybody who is told."""
    order: list[str] = []
    ways = search._ways
    monkeypatch.setattr(search, "_ways", lambda *words: order.append("search") or ways(*words))
    made = search.compose(task, first=lambda *_: order.append("told"))
    assert order[0] == "told"
    assert order.count("told") == 1
    assert made == search.compose(task)


def test_a_quick_search_tells_its_own_first_plan(task: ComposeTask, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is brief enough by itself."""
    monkeypatch.delattr(search, "tell_briefly")
    told: Told = []
    search.compose(replace(task, effort=QUICK), first=lambda *words: told.append(words))
    assert len(told) == 1


def test_what_fits_no_bed_is_left_to_the_search(task: ComposeTask) -> None:
    """A plan that leaves pieces out, or none at all, is no first answer."""
    name = task.pieces[0].part
    tall = replace(task.deposits[name], extents_mm=(*task.deposits[name].extents_mm[:2], 5000.0))
    told: Told = []
    one = replace(task, deposits={**task.deposits, name: tall})
    assert not tell_briefly(one, lambda *words: told.append(words))
    assert not tell_briefly(replace(task, pieces=()), lambda *words: told.append(words))
    assert told == []
