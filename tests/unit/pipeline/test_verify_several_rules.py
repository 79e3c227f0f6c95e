"""Every rule of plans of several airframes: a sound plan of two copies, broken in just that way."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta

import pytest

from planner.model.plan import Plan
from planner.pipeline.run import run
from planner.pipeline.verify import faults
from planner.pipeline.verify_several import several_faults
from tests.kits.several import several
from tests.sound_plan import put, small_plan
from tests.unit.pipeline.test_verify_rules import From, Row, Step, but, says, twice, up

LONE = "kit 0 1"  # the first of the two copies


@functools.cache
def copies() -> Plan:
    """Two copies of a kit of one part that is printed twice: a bed of each, the second repeats the first."""
    return run(several((1,), copies=2, pieces=1))


def mixed(plan: Plan) -> Plan:
    """The second bed holds a piece of the first copy, too."""
    return put(plan, "batches.1.placed", lambda old: (*old, plan.batches[0].placed[0]))  # type: ignore[no-any-return]


BOTH: Step = ("batches", From(lambda p: mixed(p).batches))
OWN: Step = (  # the first of them wants a bed of its own
    "airframe.members.0.mix",
    False,
)
OWN_SUMS: Step = ("airframes.0.airframe", From(lambda p: p.airframe.members[0]))


def moved_cost(kind: str, by: int) -> Sequence[Step]:
    """So much of one kind goes from the first to the second: sums hold, the rule does not."""
    return [
        (f"airframes.0.by_kind_minor.{kind}", up(-by)),
        (f"airframes.1.by_kind_minor.{kind}", up(by)),
        ("airframes.0.cost_minor", up(-by)),
        ("airframes.1.cost_minor", up(by)),
    ]


ROWS: list[Row] = [
    ([("airframes", but(1))], "the airframes that are told are not those that are planned"),
    ([("airframes", ())], "the airframes that are told are not those that are planned"),
    (
        [("airframe.members.1.name", LONE), ("airframes.1.airframe", From(lambda p: p.airframe.members[1]))],
        "two airframes have one name",
    ),
    ([("pieces.0.airframe", "kit 0 2")], "{} is told of {}"),
    ([("pieces.0.airframe", "")], "{} is told of no airframe"),
    ([BOTH, ("workshop.mix_airframes", False)], "{} mixes {}, which is forbidden"),
    ([BOTH, OWN, OWN_SUMS], "{} mixes {}, which is forbidden"),
    ([("airframes.0.pieces", 9)], "{}: {} pieces wanted, {} planned, {} told"),
    ([("pieces", but(0))], "{}: {} pieces wanted, {} planned, {} told"),
    ([("batches.0.placed", twice(0))], "{} is printed {} times"),
    ([("batches.0.placed", but(0))], "{} is printed {} times"),
    (
        [("airframes.0.finish", up(timedelta(minutes=1)))],
        "{} is told to be printed at another moment than its last bed",
    ),
    (
        [("airframes.0.finish", None)],
        "{} is told to be printed at another moment than its last bed",
    ),
    ([("airframes.0.beds", ("bed 2",))], "{} is told to lie on other beds than it does"),
    ([("airframes.0.late", lambda old: not old)], "{} is told to be {}, and is not"),
    ([("airframes.0.by_kind_minor.filament", up(1))], "the kinds of cost do not add up to its share"),
    ([("mass.total_g", up(0.1))], "the airframes weigh {} g together, {} g is told"),
    (
        [("airframes.0.by_kind_minor.filament", up(1))],
        "{} of the airframes adds up to {} minor units, not to what is told",
    ),
    (
        [("cost.totals_minor.fittings", up(1))],
        "{} of the airframes adds up to {} minor units, not to what is told",
    ),
    ([("airframes.0.cost_minor", up(1))], "the costs of the airframes do not add up to the total"),
    ([("airframes.0.minutes", up(1.0))], "{} takes {} minutes, {} told"),
    (moved_cost("filament", 9), "{}: {} by the rule is {} minor units"),
    (moved_cost("fittings", 9), "{}: {} by the rule is {} minor units"),
    ([("batches.1.placed.0.x_mm", up(1.0))], "{} is told to repeat {}, and lies otherwise"),
    ([("batches.1.filament", "?")], "{} is told to repeat {}, and lies otherwise"),
    ([("batches.1.repeats", "bed 9")], "{} is told to repeat {}, which is no other bed of the plan"),
    ([("batches.1.repeats", "bed 2")], "{} is told to repeat {}, which is no other bed of the plan"),
]

ALONE: list[Row] = [
    ([("pieces.0.airframe", LONE)], "{} is told of {}, and there is one airframe alone"),
    ([("batches.1.repeats", "bed 1")], "{} is told to repeat {}, and there is one airframe alone"),
]


def broken(plan: Plan, steps: Sequence[Step]) -> Plan:
    """The sound plan with these fields otherwise."""
    for path, new in steps:
        plan = put(plan, path, new.made(plan) if isinstance(new, From) else new)
    return plan


def told(plan: Plan) -> list[str]:
    """What is said, also without the name of the airframe whose sums it is of."""
    found = list(several_faults(plan))
    return [*found, *(text.partition(": ")[2] for text in found)]


def test_the_plan_of_two_copies_is_sound() -> None:
    """And its second bed repeats the first, else the rules would prove nothing."""
    plan = copies()
    assert faults(plan) == ()
    assert [(bed.name, bed.repeats) for bed in plan.batches] == [("bed 1", ""), ("bed 2", "bed 1")]


@pytest.mark.parametrize(("steps", "sentence"), ROWS, ids=[f"{row[0][-1][0]}: {row[1]}" for row in ROWS])
def test_copies_told_wrongly_are_seen(steps: Sequence[Step], sentence: str) -> None:
    """Each rule by a plan that breaks it."""
    assert says(told(broken(copies(), steps)), sentence)


@pytest.mark.parametrize(("steps", "sentence"), ALONE)
def test_one_airframe_alone_is_of_no_copy(steps: Sequence[Step], sentence: str) -> None:
    """Nobody reads of copies where there are none."""
    assert says(faults(broken(small_plan(), steps)), sentence)


def test_a_bed_that_was_repeated_may_be_over() -> None:
    """Where a plan goes on the first of two beds may be printed, or laid anew."""
    plan, sentence = copies(), "{} is told to repeat {}, which is no other bed of the plan"
    runs = tuple(one for one in plan.schedule.runs if one.batch == "bed 2")
    rest = replace(plan, batches=plan.batches[1:], schedule=replace(plan.schedule, runs=runs))
    assert says(told(rest), sentence)
    assert not says(told(replace(rest, replan=object())), sentence)  # type: ignore[arg-type]
