"""Of plans of equal finish the surest is taken; of others the soonest, as before."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

from planner.joint_search.beds import Bedding
from planner.joint_search.candidate import Candidate
from planner.joint_search.composition import ComposeTask
from planner.joint_search.objectives import FINISH, objectives, order_of
from planner.joint_search.surest import surest
from planner.model.attendance import Attendance
from planner.model.batch import Batch
from planner.model.effort import QUICK
from planner.model.printer import Printer
from planner.model.risk import Chances, RiskAsked
from planner.model.workshop import Workshop
from planner.scheduling.plan import schedule_batches
from planner.scheduling.simulation.worlds import lived_through
from tests.unit.scheduling.workshops import make_batch, make_workshop

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
SHOP: Workshop = replace(
    make_workshop(Attendance(), Printer("good", "desk", loaded="PLA"), Printer("bad", "desk", loaded="PLA"))
)
CHANCES = Chances(RiskAsked(400), 1, {"good": 0.001, "bad": 0.05})
TASK = ComposeTask(pieces=(), parts={}, deposits={}, workshop=SHOP, start=START, rank={}, chances=CHANCES)


def made(*minutes: float, on: str = "") -> Candidate:
    """Beds of so many minutes, on any printer or all on one; judged by their finish alone."""
    batches: tuple[Batch, ...] = tuple(make_batch(f"bed {n}", m) for n, m in enumerate(minutes))
    shop = SHOP if not on else replace(SHOP, printers=tuple(p for p in SHOP.printers if p.name == on))
    schedule = schedule_batches(batches, shop, START, section_of={}, effort=QUICK, seed=1)
    values = [0.0] * len(objectives())
    values[FINISH] = schedule.makespan_h
    return Candidate(Bedding(batches, ()), schedule, tuple(values))


def test_of_equal_finishes_the_one_on_the_printer_that_fails_less_is_taken() -> None:
    """Both end after the same minutes; which comes first does not matter, nor how often it is asked."""
    bad, good = made(600.0, on="bad"), made(600.0, on="good")
    assert bad.values == good.values
    for found in ([bad, good], [good, bad], [bad, good]):
        assert surest(found, order_of(()), TASK, CHANCES) == [good]


def test_a_plan_that_ends_sooner_than_the_tolerance_is_never_given_up() -> None:
    """However often it fails."""
    sooner, surer = made(500.0, on="bad"), made(600.0, on="good")
    assert surest([sooner, surer], order_of(()), TASK, CHANCES) == [sooner]


def test_goals_that_are_preferred_come_before() -> None:
    """With visits first, what asks for more of them is out before anything is lived through."""
    names = [one.name for one in objectives()]
    bad, good = made(600.0, on="bad"), made(600.0, on="good")
    values = list(good.values)
    values[names.index("visits")] = 3.0
    more = replace(good, values=tuple(values))
    assert surest([bad, more], order_of(("visits",)), TASK, CHANCES) == [bad]
    assert surest([bad, more], order_of(()), TASK, CHANCES) == [more]


def test_the_surest_ends_first_in_nine_tenths_of_worlds() -> None:
    """As the worlds themselves tell it."""
    bad, good = made(600.0, on="bad"), made(600.0, on="good")
    ends = [
        lived_through(one.schedule, one.bedding.batches, SHOP, START, CHANCES).finish(0.9)
        for one in (bad, good)
    ]
    assert ends[1] < ends[0]
