"""Random workshops with absences, nozzles, plates and dryers: each planned at the lowest effort and checked.

Beds are grams and hours only, so that thousands can be planned in minutes. Every plan is looked at by the
independent check, and so is, for one in twenty, a plan that goes on from it with another absence.

Run it from the top of the repository: ``python scripts/bench_mixed.py --count 2000``.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from planner.errors import Infeasible
from planner.model.away import Away, joined
from planner.model.effort import QUICK
from planner.model.schedule import Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.drying import Timed, dried, first_rooms, with_drying
from planner.scheduling.plan import schedule_batches
from planner.scheduling.problem.calendar import zone_of
from planner.scheduling.problem.dry_spans import Asked
from planner.scheduling.repair.replan_plan import Underway, replan_batches
from planner.scheduling.timetable import spooled
from planner.scheduling.verify import verify_schedule
from planner.scheduling.verify_tasks import task_faults
from tests.kits.mixed_shop import MixedShop, dried_shop

STEPS = 60  # of each search
EACH = 20  # one in so many goes on
Given = tuple[Schedule, tuple[SpoolUse, ...]]


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
        shop = dried_shop(seed)
        try:
            faults += [(seed, text) for text in _planned(shop)]
            planned += 1
            if seed % EACH == 0:
                faults += [(seed, f"going on: {text}") for text in _gone_on(shop)]
                went_on += 1
        except Infeasible as error:
            refused += 1
            if "away until told" not in str(error) and not _too_open(error):
                faults.append((seed, f"refused: {error}"))
    return Found(planned, went_on, refused, tuple(faults))


def _too_open(error: Infeasible) -> bool:
    """Whether a filament must be dried again before all of its spools are dry."""
    return "open for too short a time" in str(error)


def _planned(shop: MixedShop) -> tuple[str, ...]:
    workshop, start = shop.workshop, shop.start

    def attempt(now: Workshop) -> Given:
        made = schedule_batches(shop.batches, now, start, section_of={}, effort=QUICK, seed=1, steps=STEPS)
        return spooled(made, shop.batches, now, start)

    return _checked(shop, workshop, attempt)


def _gone_on(shop: MixedShop) -> tuple[str, ...]:
    """The same beds after the first printer is told to be away for a day."""
    made = schedule_batches(
        shop.batches, shop.workshop, shop.start, section_of={}, effort=QUICK, seed=1, steps=STEPS
    )
    was = {run.batch: (run.printer, run.start) for run in made.runs}
    one, *others = shop.workshop.printers
    day = Away(shop.start + timedelta(hours=20), shop.start + timedelta(hours=44))
    gone = joined(one.away, (day,), zone_of(shop.workshop.attendance, shop.start))

    def attempt(now: Workshop) -> Given:
        rest, _ = replan_batches(
            shop.batches, was, Underway(), now, shop.start, tolerance_h=8.0, effort=QUICK, seed=1
        )
        return spooled(rest, shop.batches, now, shop.start)

    return _checked(shop, replace(shop.workshop, printers=(replace(one, away=gone), *others)), attempt)


def _checked(shop: MixedShop, workshop: Workshop, attempt: Callable[[Workshop], Given]) -> tuple[str, ...]:
    """What both checks say of a plan with its dryers."""
    grams = {name: sum(b.mass_g for b in shop.batches if b.filament == name) for name in _used(shop)}
    beds = {name: sum(b.filament == name for b in shop.batches) for name in grams}
    asked = Asked(first_rooms({name: (grams[name], beds[name]) for name in grams}, workshop))
    (schedule, uses), loads = dried(
        workshop, shop.start, asked, attempt, lambda made: Timed(made[0].runs, shop.batches)
    )
    schedule = with_drying(schedule, loads, shop.batches, workshop, shop.start)
    return (
        *verify_schedule(schedule, uses, shop.batches, workshop, shop.start),
        *task_faults(schedule, shop.batches, workshop, shop.start),
    )


def _used(shop: MixedShop) -> list[str]:
    return list(dict.fromkeys(batch.filament for batch in shop.batches))


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
