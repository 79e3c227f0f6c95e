"""Finished compositions timed in parts: only large ones, only where they end sooner, and sound then."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.joint_search.in_parts import NOTE, timed_in_parts
from planner.joint_search.search import compose
from planner.scheduling.annealing import horizon
from planner.scheduling.annealing.parts import Searched, Work, in_turns
from planner.scheduling.verify import verify_schedule
from tests.unit.joint_search.tasks import make_task


def nobody(works: list[Work]) -> Searched:
    raise AssertionError("a small workshop has no parts")


def test_a_small_workshop_is_left_as_it_is() -> None:
    task = make_task(seed=2, parts=8, printers=2)
    made = compose(task)
    assert timed_in_parts(task, made, nobody) is made


def test_runs_that_end_sooner_are_taken_with_spools_and_visits(monkeypatch: pytest.MonkeyPatch) -> None:
    """Seven printers, each bed a while later than it need be: parts find the sooner runs."""
    monkeypatch.setattr(horizon, "LEAST", 6)
    task = make_task(seed=5, parts=40, printers=7, persons=1)
    task = replace(task, effort=replace(task.effort, bed_caps_minutes=(200.0,), first_goal_steps=0))
    poor = compose(replace(task, effort=replace(task.effort, schedule_steps=1)))
    asked: list[int] = []

    def each(works: list[Work]) -> Searched:
        asked.append(len(works))
        return in_turns(works)

    better = timed_in_parts(task, poor, each)
    assert asked
    assert better.notes[-1] == NOTE
    assert better.schedule.makespan_h < poor.schedule.makespan_h
    assert better.schedule.lower_bound_h is not None
    assert better.schedule.lower_bound_h <= better.schedule.makespan_h
    assert {b.placed for b in better.batches} == {b.placed for b in poor.batches}
    told = verify_schedule(better.schedule, better.spools, better.batches, task.workshop, task.start)
    assert told == ()
    assert timed_in_parts(task, better, in_turns) is better
    nothing = replace(poor.schedule, lower_bound_h=None, proven_gap=None, beds_bound_h=None)
    again = timed_in_parts(task, replace(poor, schedule=nothing), in_turns).schedule
    assert again.makespan_h == better.schedule.makespan_h
    assert (again.lower_bound_h, again.proven_gap, again.beds_bound_h) == (None, None, None)
