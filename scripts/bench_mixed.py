"""Random workshops with absences, nozzles and plates: each planned at the lowest effort and checked.

Beds are grams and hours only, so that thousands can be planned in minutes. Every plan is looked at by the
independent check, and so is, for one in twenty, a plan that goes on from it with another absence.

Run it from the top of the repository: ``python scripts/bench_mixed.py --count 2000``.
"""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from planner.errors import Infeasible
from planner.model.away import Away, joined
from planner.model.effort import QUICK
from planner.scheduling.plan import schedule_batches
from planner.scheduling.problem.calendar import zone_of
from planner.scheduling.repair.replan_plan import Underway, replan_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from tests.kits.mixed_shop import MixedShop, mixed_shop

STEPS = 60  # of each search
EACH = 20  # one in so many goes on


@dataclass(frozen=True, slots=True)
class Found:
    """How many were planned, went on, were refused; and what the check said, by seed."""

    planned: int
    went_on: int
    refused: int
    faults: tuple[tuple[int, str], ...]


def looked_at(count: int, first: int = 0) -> Found:
    """So many workshops from a seed on."""
    planned = went_on = refused = 0
    faults: list[tuple[int, str]] = []
    for seed in range(first, first + count):
        shop = mixed_shop(seed)
        try:
            faults += [(seed, text) for text in _planned(shop)]
            planned += 1
            if seed % EACH == 0:
                faults += [(seed, f"going on: {text}") for text in _gone_on(shop)]
                went_on += 1
        except Infeasible as error:
            refused += 1
            if "away until told" not in str(error):
                faults.append((seed, f"refused: {error}"))
    return Found(planned, went_on, refused, tuple(faults))


def _planned(shop: MixedShop) -> tuple[str, ...]:
    made = schedule_batches(
        shop.batches, shop.workshop, shop.start, section_of={}, effort=QUICK, seed=1, steps=STEPS
    )
    schedule, uses = spooled(made, shop.batches, shop.workshop, shop.start)
    return verify_schedule(schedule, uses, shop.batches, shop.workshop, shop.start)


def _gone_on(shop: MixedShop) -> tuple[str, ...]:
    """The same beds after the first printer is told to be away for a day."""
    made = schedule_batches(
        shop.batches, shop.workshop, shop.start, section_of={}, effort=QUICK, seed=1, steps=STEPS
    )
    was = {run.batch: (run.printer, run.start) for run in made.runs}
    one, *others = shop.workshop.printers
    day = Away(shop.start + timedelta(hours=20), shop.start + timedelta(hours=44))
    gone = joined(one.away, (day,), zone_of(shop.workshop.attendance, shop.start))
    now = replace(shop.workshop, printers=(replace(one, away=gone), *others))
    rest, _ = replan_batches(
        shop.batches, was, Underway(), now, shop.start, tolerance_h=8.0, effort=QUICK, seed=1
    )
    schedule, uses = spooled(rest, shop.batches, now, shop.start)
    return verify_schedule(schedule, uses, shop.batches, now, shop.start)


def main() -> int:
    """Print what was found; 1 where the check found anything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    found = looked_at(asked.count, asked.first)
    print(f"{found.planned} planned, {found.went_on} went on, {found.refused} refused: all away until told")
    for seed, text in found.faults:
        print(f"seed {seed}: {text}")
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main())
