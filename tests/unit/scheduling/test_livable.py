"""A plan that is kept to be lived through: the same worlds as from the schedule itself."""

from __future__ import annotations

from datetime import UTC, datetime

import numpy as np

from planner.model.effort import QUICK
from planner.model.risk import Chances, RiskAsked
from planner.scheduling.plan import schedule_batches
from planner.scheduling.simulation.livable import Livable, LivableBed
from planner.scheduling.simulation.slots import slots_of
from planner.scheduling.simulation.workplace import queue_of, workplace_of
from planner.scheduling.simulation.worlds import live_through, lived_through
from tests.unit.scheduling.workshops import random_case

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)


def test_a_workplace_that_is_made_gives_the_worlds_of_its_schedule() -> None:
    """Beds by the places of their printers."""
    batches, shop = random_case(4)
    schedule = schedule_batches(batches, shop, START, section_of={}, effort=QUICK, seed=1)
    names = tuple(printer.name for printer in shop.printers)
    rates, spreads = dict.fromkeys(names, 0.02), dict.fromkeys(names, 0.1)
    chances = Chances(RiskAsked(60, 0.2), 3, rates, spreads, 0.03)
    beds = tuple(LivableBed(r.batch, names.index(r.printer), "PLA", r.total_g, 0.0) for r in schedule.runs)
    work, dryers = workplace_of(schedule, batches, shop, START), slots_of(schedule, shop, START)
    plan = Livable(START, schedule.finish, "UTC", False, names, beds, 1.0, 8.0, chances, work, dryers)
    found = live_through(
        plan.work, plan.dryers, [bed.printer for bed in plan.beds], plan.printers, plan.chances
    )
    plain = lived_through(schedule, batches, shop, START, chances)
    for mine, other in zip(found.lived, plain.lived, strict=True):
        assert np.array_equal(mine, other)


def test_beds_follow_each_other_by_their_begin_on_each_printer() -> None:
    """Of a printer without beds nothing follows."""
    rows = queue_of([1, 0, 1, 1], [50.0, 20.0, 10.0, 30.0], 3)
    assert rows.tolist() == [[1, -1, -1, -1], [2, 3, 0, -1], [-1, -1, -1, -1]]
