"""The words of the visits, done in their order: random workshops, and words that are broken by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from planner.model.effort import QUICK
from planner.model.schedule import Schedule
from planner.scheduling.plan import schedule_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify_tasks import task_faults
from tests.kits.mixed_shop import MixedShop, mixed_shop


def planned(shop: MixedShop) -> Schedule:
    """A quick plan."""
    asked = (shop.batches, shop.workshop, shop.start)
    made = schedule_batches(*asked, section_of={}, effort=QUICK, seed=1, steps=50)
    return spooled(made, *asked)[0]


def faults(shop: MixedShop, schedule: Schedule) -> tuple[str, ...]:
    """What the check says of its visits."""
    return task_faults(schedule, shop.batches, shop.workshop, shop.start)


@pytest.mark.parametrize("seed", [5, 22, 32])
def test_whoever_does_the_tasks_starts_every_bed_rightly(seed: int) -> None:
    """Spools that several printers draw from, between some that only one does; nozzles and plates."""
    shop = mixed_shop(seed)
    assert faults(shop, planned(shop)) == ()


def test_a_spool_that_comes_off_to_go_on_again_is_found() -> None:
    """Whichever it is, of the shelf or new, at the start of a bed that draws from it."""
    shop, tried = mixed_shop(20), 0
    schedule = planned(shop)
    assert shop.workshop.spools
    for n, visit in enumerate(schedule.visits):
        for at, task in enumerate(visit.tasks):
            if not task.startswith("put ") or " on " not in task or task.endswith("printing"):
                continue
            what, _, printer = task.removeprefix("put ").rpartition(" on ")
            words = (task, f"take {what} off {printer}", task)
            visits = list(schedule.visits)
            visits[n] = replace(visit, tasks=(*visit.tasks[:at], *words, *visit.tasks[at + 1 :]))
            if any(draw.spool in what for run in schedule.runs for draw in run.draws):
                told = faults(shop, replace(schedule, visits=tuple(visits)))
                assert any(one.endswith("that was on it before.") for one in told), task
                tried += 1
    assert tried > 0


def test_a_task_left_out_is_missed() -> None:
    """Each of those of a whole plan, but for what only helps, and last beds, which another check has."""
    shop = mixed_shop(5)
    schedule = planned(shop)
    for n, visit in enumerate(schedule.visits):
        for at, task in enumerate(visit.tasks):
            if task.startswith(("take ", "see that ", "clear ")):
                continue
            rest = (*visit.tasks[:at], *visit.tasks[at + 1 :])
            visits = (*schedule.visits[:n], replace(visit, tasks=rest), *schedule.visits[n + 1 :])
            assert faults(shop, replace(schedule, visits=visits)), task
