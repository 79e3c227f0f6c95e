"""Pieces to beds to sequence over the arrange stage, goal by goal."""

from dataclasses import replace
from datetime import date

import pytest

import planner.joint_search.search as search
from planner.errors import Infeasible, InputError
from planner.joint_search import beds
from planner.joint_search.measures import lost_hours
from planner.joint_search.objectives import BUILT_IN, best_of, order_of
from planner.joint_search.search import compose
from planner.joint_search.sections import pairs_of
from planner.model.away import Away
from planner.model.effort import NORMAL, THOROUGH
from planner.scheduling import plan
from planner.scheduling.verify import verify_schedule
from tests.unit.joint_search.tasks import make_task


def values(task, **more):
    return {goal.name: goal.value for goal in compose(replace(task, **more)).goals}


@pytest.fixture(scope="module")
def task():
    return make_task(seed=3, parts=14, printers=2)


def test_no_piece_is_lost_and_the_independent_check_finds_nothing(task):
    """Every piece lies on one bed, and the runs keep attendance, persons, printers and spools."""
    made = compose(task)
    assert sorted(p.piece for b in made.batches for p in b.placed) == sorted(p.name for p in task.pieces)
    assert verify_schedule(made.schedule, made.spools, made.batches, task.workshop, task.start) == ()


def test_beds_and_sequence_together_never_end_later_than_the_best_cap(task, monkeypatch):
    """The caps on bed hours are a floor: the joint search starts from the best of them."""
    together = values(task)["finish"]
    monkeypatch.setattr(search, "_jointly", lambda *_: None)
    assert together <= values(task)["finish"] + 1e-9


def test_beds_that_are_laid_are_tried_with_fewer_changes_of_filament(monkeypatch):
    """Six times the beds of one airframe: fewer changes than the search for times leaves, and no later."""
    task = make_task(seed=1, parts=24, printers=3)
    one = compose(task)
    laid = [replace(b, name=f"{n} {b.name}") for n in range(6) for b in one.batches]
    origin = {b.name: b.name.split(" ", 1)[1] for b in laid}
    made = search.composed_of(task, beds.Bedding(tuple(laid), ()), origin)
    assert verify_schedule(made.schedule, made.spools, made.batches, task.workshop, task.start) == ()
    monkeypatch.setattr(plan, "EASE_TIMES", 0)
    plain = search.composed_of(task, beds.Bedding(tuple(laid), ()), origin)
    found, before = ({goal.name: goal.value for goal in one.goals} for one in (made, plain))
    assert found["changeovers"] < before["changeovers"]
    assert found["finish"] <= before["finish"] + 1e-9


def test_what_is_proved_of_the_printers_that_stay_is_not_told_of_all(task, monkeypatch):
    """Where those that go away have to be left out, their hours until then might have helped."""
    stays, goes = task.workshop.printers
    goes = replace(goes, away=(Away(date(2026, 12, 3)),))
    task = replace(task, workshop=replace(task.workshop, printers=(stays, goes)))
    composed, asked = search._composed, []

    def refused_once(task, *rest, **more):
        asked.append(task.workshop.printers)
        if len(asked) == 1:
            raise Infeasible("a bed has no room")
        return composed(task, *rest, **more)

    monkeypatch.setattr(search, "_composed", refused_once)
    made = compose(task)
    assert asked == [(stays, goes), (stays,)]
    schedule = made.schedule
    assert (schedule.lower_bound_h, schedule.proven_gap, schedule.beds_bound_h) == (None, None, None)
    assert made.goals[0].told.endswith("not proved")
    assert set(schedule.print_hours) == {stays.name, goes.name}


def test_the_same_seed_gives_the_same_plan(task):
    """Seed and effort decide everything."""
    assert compose(task) == compose(task)


def test_a_stop_keeps_the_best_until_then(task):
    """Stopped at once, the first cap is the plan; progress told only better finishes."""
    told = []
    made = compose(task, told.append, lambda: True)
    assert [made.schedule.makespan_h] == told
    told.clear()
    compose(task, told.append)
    assert told == sorted(told, reverse=True)


def test_the_preferred_goal_comes_first_and_is_not_worse(task):
    """With visits first there are no more visits and night starts than with the finish first."""
    usual, visits = compose(task), compose(replace(task, prefer=("visits", "finish")))
    assert [goal.name for goal in visits.goals][:2] == ["visits", "finish"]
    worth = {goal.name: goal.value for goal in usual.goals}["visits"]
    assert visits.goals[0].value <= worth


def test_every_goal_is_told_in_its_place(task):
    """All goals, numbered from one, each in words."""
    goals = compose(task).goals
    assert [goal.place for goal in goals] == list(range(1, len(BUILT_IN) + 1))
    assert {goal.name for goal in goals} == {one.name for one in BUILT_IN}
    assert all(goal.told for goal in goals)


@pytest.mark.parametrize("words", [("speed",), ("visits", "visits"), ("",)])
def test_words_that_are_no_goals_are_refused(words):
    """The message names the word and all goals, or the word that is there twice."""
    with pytest.raises(InputError, match=r"no goal|named twice"):
        order_of(words)


def test_a_later_goal_may_cost_the_tolerance_of_an_earlier_one():
    """24.0 h and 9 visits lose to 24.2 h and 5 visits (1 % of 24 h is 0.24 h), 24.3 h and 4 do not count."""
    rows = [(24.0, 0, 9.0, 0, 0, 0, 0, 0), (24.2, 0, 5.0, 0, 0, 0, 0, 0), (24.3, 0, 4.0, 0, 0, 0, 0, 0)]
    assert best_of(rows, order_of(())) == 1
    assert best_of(rows, order_of(("visits",))) == 2


def test_hours_lost_to_failures_by_hand():
    """20 h at 0.002 an hour: (1 - e^-0.04 * 1.04) / 0.002 = 0.3895 h; a short run loses r T^2 / 2."""
    assert lost_hours(20.0, 0.002) == pytest.approx(0.38949, abs=1e-5)
    assert lost_hours(1.0, 1e-9) == pytest.approx(0.5e-9, rel=1e-6)


def test_hands_of_a_mirrored_part_are_a_pair(task):
    """The two hands of a part with mirror, and nothing else."""
    part = next(part for part in task.parts.values() if part.mirror)
    assert (f"{part.name} L", f"{part.name} R") in pairs_of(task)


def test_steps_are_counted_to_the_end_and_never_backwards(task):
    """From the first cap to the last steps, whatever the search leaves out."""
    told: list[tuple[int, int]] = []
    compose(task, steps=lambda done, total: told.append((done, total)))
    done = [one for one, _ in told]
    assert done == sorted(done)
    assert len({total for _, total in told}) == 1
    assert done[0] == 0
    assert done[-1] == told[-1][1] - 2
    assert len(set(done)) > 5


def test_what_follows_a_stop_is_short(task, monkeypatch):
    """A thorough search that is stopped tidies and bounds its beds as a quick one; the plan stays sound."""
    asked = []
    bound = search.beds_bound
    monkeypatch.setattr(search, "tidied", lambda batches, given: asked.append(given.effort) or batches)
    monkeypatch.setattr(search, "beds_bound", lambda *given: asked.append(given[4]) or bound(*given))
    made = compose(replace(task, effort=THOROUGH), None, lambda: True)
    assert {effort.name for effort in asked} == {"quick"}
    assert verify_schedule(made.schedule, made.spools, made.batches, task.workshop, task.start) == ()


def test_no_pieces_are_packed_twice(monkeypatch):
    """Ways to lay a plan that differ in one filament ask for the beds of the others but once."""
    asked = []
    real = beds.fill

    def counted(problem):
        if problem.effort == NORMAL:
            asked.append((tuple(item.piece for item in problem.items), problem.containers))
        return real(problem)

    monkeypatch.setattr(beds, "fill", counted)
    compose(replace(make_task(seed=3, parts=10, printers=2), effort=NORMAL))
    assert asked
    assert len(asked) == len(set(asked))
