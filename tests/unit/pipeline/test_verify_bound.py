"""The proved bound against plain sums, on plans by hand and whole ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from planner.model.plan import Plan
from planner.model.replan import Replan
from planner.pipeline.verify_bound import bound_faults
from tests.sound_plan import NOW, small_plan


def told(hours: float, **more: object) -> Plan:
    """Two pieces of each of 60 layers of a minute; each printer changes layers in no time, heats for none."""
    plan = small_plan()
    printer = replace(plan.workshop.printers[0], heat_up_minutes=0.0, minutes_factor=1.0)
    printer = replace(printer, motion=replace(printer.motion, layer_change_s=0.0))
    shop = replace(plan.workshop, printers=(printer, replace(printer, name="other")), start_minutes=6)
    slow = {
        name: replace(deposit, seconds={printer.kind: np.full(60, 60.0)})
        for name, deposit in plan.deposits.items()
    }
    schedule = replace(plan.schedule, lower_bound_h=hours, makespan_h=10.0)
    return replace(plan, workshop=shop, deposits=slow, schedule=schedule, **more)


def words(hours: float, least: str) -> tuple[str, ...]:
    return (f"nothing is told to end before {hours:g} h, and plain sums show {least} h.",)


def test_all_layers_shared_by_all_printers() -> None:
    """Seven pieces of an hour on two printers, and 6 minutes to start: 3.6 h."""
    pieces = sum(len(batch.placed) for batch in small_plan().batches)
    assert pieces == 7
    assert tuple(bound_faults(told(3.6))) == ()
    assert tuple(bound_faults(told(3.5))) == words(3.5, "3.6")


@pytest.mark.parametrize(("hours", "faults"), [(8.09, 0), (8.05, 1)])
def test_the_longest_piece(hours: float, faults: int) -> None:
    """One piece of 8 hours: no plan ends before 8.1 h, within a minute of rounding."""
    plan = told(hours)
    kind = plan.workshop.printers[0].kind
    long = replace(plan.deposits["fuselage"], seconds={kind: np.full(480, 60.0)})
    found = tuple(bound_faults(replace(plan, deposits={**plan.deposits, "fuselage": long})))
    assert len(found) == faults


def test_beds_of_a_plan_that_goes_on_and_runs_that_are_on() -> None:
    """Beds as they are; a run that is on ends when it ends; what is reached is never too little."""
    base = told(1.0)
    on = Replan("", 4.0, NOW, NOW, 0, 0, True, ())
    minutes = max(batch.minutes for batch in base.batches)
    beds = [replace(batch, minutes=60.0) for batch in base.batches[:-1]]
    beds.append(replace(base.batches[-1], minutes=240.0))
    going = replace(base, replan=on, batches=tuple(beds))
    assert minutes > 0.0
    assert tuple(bound_faults(going)) == words(1.0, "4.1")
    running = tuple(replace(run, mark="running") for run in going.schedule.runs)
    last = max(run.end for run in running)
    hours = (last - going.start).total_seconds() / 3600.0
    late = replace(going, schedule=replace(going.schedule, runs=running, makespan_h=hours))
    assert tuple(bound_faults(late)) == words(1.0, f"{hours:g}")
    assert tuple(bound_faults(replace(late, schedule=replace(late.schedule, lower_bound_h=hours)))) == ()


def test_nothing_is_said_where_nothing_is_proved() -> None:
    """Drying on fewer printers leaves no bound."""
    plan = told(1.0)
    assert tuple(bound_faults(replace(plan, schedule=replace(plan.schedule, lower_bound_h=None)))) == ()
    assert tuple(bound_faults(small_plan())) == ()
