"""Dryers in a plan that goes on: what is taken to be dry, what is in them, whatever facts say otherwise."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import pytest

from planner.model.attendance import Attendance, WeeklyWindow
from planner.model.drying import Dryer, DryerLoad
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.replan import EarlierPlan
from planner.model.schedule import Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.pipeline.replan.beds import BedsLeft
from planner.pipeline.replan.drying import DryersNow, dryers_now, replanned_dry
from planner.pipeline.replan.outcomes import Outcomes
from planner.pipeline.replan.shelf import shelf_now
from planner.scheduling.repair.replan import Replanned
from planner.scheduling.repair.replan_plan import Underway
from tests.unit.scheduling.workshops import ALL_DAYS, MONDAY, evenings_and_mornings

NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=8.0, needs_drying=True, open_hours=24.0)
SHOP = Workshop(
    (Printer("one", "desk"),),
    (NYLON,),
    (Spool("A", "PA", 500.0), Spool("B", "PA", 500.0)),
    attendance=evenings_and_mornings(),
    dryer=Dryer(1, 2),
)


def hours(count: float) -> datetime:
    """So many after the plan begins, on Monday at 18:00."""
    return MONDAY + timedelta(hours=count)


OVER = DryerLoad(1, "PA", ("A",), hours(-12), hours(0))
INSIDE = DryerLoad(1, "PA", ("A", "B"), hours(-1), hours(12))
TO_COME = DryerLoad(1, "PA", ("B",), hours(3), hours(12))


def earlier(*loads: DryerLoad, **more: Any) -> EarlierPlan:
    """A plan with these slots, and nothing else."""
    bare = EarlierPlan("x", "0" * 64, "x", MONDAY, MONDAY, {}, {}, (), (), (), (), {})
    return replace(bare, drying=loads, **more)


def test_a_slot_that_is_over_was_kept() -> None:
    """Its spools are dry since; what is to come tells nothing yet."""
    shop, now = dryers_now(SHOP, earlier(OVER, TO_COME), MONDAY)
    assert [spool.dried for spool in shop.spools] == [MONDAY, None]
    assert now == DryersNow((OVER,), (), ("A: dried as the earlier plan said",))


def test_what_is_in_the_dryer_now_comes_out_as_planned() -> None:
    """Or when somebody is there next, where the hours have changed since."""
    shop, now = dryers_now(SHOP, earlier(INSIDE), MONDAY)
    assert shop.spools == SHOP.spools
    assert now == DryersNow((), (INSIDE,), ("A, B: in the dryer now, as the earlier plan said",))
    late = Attendance((WeeklyWindow(ALL_DAYS, hours(0).time(), hours(4).time()),), zone="UTC")
    _, now = dryers_now(replace(SHOP, attendance=late), earlier(INSIDE), MONDAY)
    assert now.inside[0].take_out == hours(24)


@pytest.mark.parametrize(
    ("told", "dried", "inside"),
    [
        ((hours(-2), True), hours(-2), ("A", "B")),  # before it went in: it went in again
        ((hours(-0.5), True), hours(-0.5), ("B",)),  # it is out already
        ((hours(-0.5), False), None, ("B",)),  # it is not in it at all
    ],
)
def test_a_fact_goes_before_the_plan(
    told: tuple[datetime, bool], dried: datetime | None, inside: Any
) -> None:
    """What is told of a spool since it would have gone in."""
    shop, now = dryers_now(SHOP, earlier(INSIDE, told_dry={"A": told}), MONDAY)
    assert shop.spools[0].dried == dried
    assert [load.spools for load in now.inside] == [inside]


@pytest.mark.parametrize(
    "shop",
    [
        replace(SHOP, dryer=None),
        replace(SHOP, filaments=(replace(NYLON, dry_hours=20.0),)),
        replace(SHOP, spools=(Spool("C", "PA", 1.0),)),
        replace(SHOP, spools=tuple(replace(s, dried=hours(-0.2)) for s in SHOP.spools)),
    ],
)
def test_slots_that_no_longer_count(shop: Workshop) -> None:
    """No dryer any more, more hours asked for, spools that are gone, or told to be dry in workshop.toml."""
    made, now = dryers_now(shop, earlier(INSIDE), MONDAY)
    assert made == shop
    assert now == DryersNow((), (), ())


def test_a_new_spool_that_went_into_a_dryer_is_on_the_shelf() -> None:
    """It is opened, though nothing drew from it yet."""
    use = SpoolUse("new PA 1", "PA", True, 1000.0, 0.0, 0.0, 1000.0, None)
    load = replace(INSIDE, spools=("new PA 1",))
    before = earlier(load, spools=(use,))
    became = Outcomes((), (), (), (), ())
    shelf = shelf_now(SHOP.spools, before, became, now=MONDAY)
    assert [spool.name for spool in shelf.spools] == ["A", "B", "new PA 1"]
    assert [s.name for s in shelf_now(SHOP.spools, before, became, now=hours(-2)).spools] == ["A", "B"]


def test_nothing_left_to_print_leaves_what_is_in_the_dryer() -> None:
    """With its visit, and what was dried before it."""
    schedule = Schedule((), (), MONDAY, 0.0, {"one": 0.0}, None, None, 0, 0)
    answer = Replanned(None, (), 0, True)  # type: ignore[arg-type]
    left = BedsLeft((), (), {}, {})
    now = DryersNow((OVER,), (INSIDE,), ())

    def attempt(shop: Workshop) -> Any:
        return left, (schedule, ()), answer

    _, (made, _), found = replanned_dry(attempt, left, Underway(), now, earlier(), SHOP, MONDAY)
    assert made.drying == (OVER, INSIDE)
    assert [v.tasks for v in made.visits] == [("take spool A out of dryer 1", "take spool B out of dryer 1")]
    assert found.proved
