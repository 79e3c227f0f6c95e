"""Minutes of a person as a goal: what costs nothing to join is joined."""

from dataclasses import replace

import pytest

from planner.joint_search.beds import Bedding, BedMaker
from planner.joint_search.candidate import Candidate, start_of
from planner.joint_search.instance import instance_of
from planner.joint_search.joint import timed_start
from planner.joint_search.measures import hand_minutes
from planner.joint_search.objectives import BUILT_IN, later_price, order_of, place_of
from planner.joint_search.search import compose
from planner.model.effort import NORMAL, QUICK
from planner.model.part import Part, pieces_of
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from tests.unit.joint_search.tasks import make_deposit, make_task
from tests.unit.scheduling.workshops import evenings_and_mornings, make_workshop


def hinge_task(seed, effort=QUICK, prefer=()):
    """Blocks for two printers, and sixteen hinges of a flexible filament that takes seven minutes each."""
    base = make_task(seed, parts=12, printers=4, effort=effort)
    soft = replace(base.workshop.filament("TPU"), unattended_run=True, watch_minutes=3)
    printers = [Printer(f"desk {n}", "desk", loaded="PLA") for n in range(1, 5)]
    workshop = make_workshop(evenings_and_mornings(), *printers)
    filaments = tuple(soft if f.name == "TPU" else f for f in workshop.filaments)
    hinge = Part("hinge", "hinge.stl", "wing", Recipe(name="plain"), "TPU", copies=16)
    deposits = {**base.deposits, "hinge": make_deposit("hinge", 22.0, 14.0, 4.0, 0.1, ("desk",), 1.5)}
    return replace(
        base,
        pieces=(*base.pieces, *pieces_of(hinge)),
        parts={**base.parts, "hinge": hinge},
        deposits=deposits,
        workshop=replace(workshop, filaments=filaments),
        prefer=prefer,
    )


def soft_beds(made):
    return [batch for batch in made.batches if batch.filament == "TPU"]


HANDS, VISITS = place_of("hands"), place_of("visits")


def test_every_goal_has_a_price_and_a_place():
    """However many follow the one that counts, none counts nothing; hands come right after visits."""
    prices = [later_price(behind) for behind in range(3 * len(BUILT_IN))]
    assert prices == sorted(set(prices), reverse=True)
    assert prices[0] == 1.0
    assert min(prices) > 0.0
    assert order_of(()).index(HANDS) == order_of(()).index(VISITS) + 1
    assert order_of(("hands",))[0] == HANDS


@pytest.mark.parametrize(
    ("seed", "effort"), [pytest.param(1, NORMAL, marks=pytest.mark.slow), (2, QUICK), (3, QUICK)]
)
def test_small_hinges_are_joined_where_it_costs_nothing(seed, effort):
    """Sixteen hinges of one filament fit one bed and last under two hours: no second bed of them is laid."""
    task = hinge_task(seed, effort)
    made = compose(task)
    assert len(soft_beds(made)) == 1
    goals = {goal.name: goal for goal in made.goals}
    named = {batch.name: batch for batch in made.batches}
    assert goals["hands"].value == hand_minutes(made.schedule.runs, named, task.workshop)
    assert "person-minutes" in goals["hands"].told


def test_with_hands_first_there_are_no_more_of_them():
    """What is preferred is searched for first."""
    usual, first = compose(hinge_task(4)), compose(hinge_task(4, prefer=("hands",)))
    value = {goal.name: goal.value for goal in usual.goals}["hands"]
    assert first.goals[0].name == "hands"
    assert first.goals[0].value <= value


def test_search_and_plan_count_the_same_minutes():
    """The compiled count is the one of the finished plan, for whatever beds the search gives."""
    task = hinge_task(5)
    made = compose(task)
    instance = instance_of(BedMaker(task), 40)
    start = start_of(Candidate(Bedding(made.batches, ()), made.schedule, ()), instance)
    laid = timed_start(instance.table, instance.goal_data, start)
    named = {batch.name: batch for batch in made.batches}
    assert laid.values[HANDS] == hand_minutes(made.schedule.runs, named, task.workshop)
