"""Random workshops with absences, nozzles, plates and dryers: each planned at the lowest effort and checked.

Beds are grams and hours only, so that thousands can be planned in minutes. Every plan is looked at by the
independent check, and so is, for one in twenty (``--each``), one that goes on from it with another absence.
``--many`` takes workshops of 8 to 30 printers and up to 64 beds.

Run it from the top of the repository: ``python scripts/bench_mixed.py --count 2000``. Progress goes to the
error stream; CPU is that of this process, of all its threads.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from collections.abc import Callable, Iterator
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
from tests.kits.mixed_shop import MixedShop, dried_shop, many_shop

STEPS = 60  # of each search
EACH = 20  # one in so many goes on
Given = tuple[Schedule, tuple[SpoolUse, ...]]


@dataclass(frozen=True, slots=True)
class Found:
    """What came of one workshop: planned, gone on, or why refused; what the check said; CPU seconds."""

    seed: int
    planned: bool
    went_on: bool
    refused: str
    faults: tuple[str, ...]
    seconds: float

    @property
    def wrong(self) -> tuple[str, ...]:
        """What the check said, and a refusal that is not one of the two that are right."""
        right = "away until told" in self.refused or _too_open(self.refused)
        return self.faults if right or not self.refused else (*self.faults, f"refused: {self.refused}")


def looked_at(
    count: int, first: int = 0, *, each: int = EACH, drawn: Callable[[int], MixedShop] = dried_shop
) -> Iterator[Found]:
    """So many workshops from a seed on; one in ``each`` goes on."""
    for seed in range(first, first + count):
        began = time.process_time()
        shop = drawn(seed)
        planned = went_on = False
        refused, faults = "", []
        try:
            faults += _planned(shop)
            planned = True
            if seed % each == 0:
                faults += [f"going on: {text}" for text in _gone_on(shop)]
                went_on = True
        except Infeasible as error:
            refused = str(error)
        yield Found(seed, planned, went_on, refused, tuple(faults), time.process_time() - began)


def _too_open(refused: str) -> bool:
    """Whether a filament must be dried again before all of its spools are dry."""
    return "open for too short a time" in refused


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
    parser.add_argument("--each", type=int, default=EACH, help="one in so many goes on")
    parser.add_argument("--many", action="store_true", help="of many printers")
    asked = parser.parse_args()
    drawn = many_shop if asked.many else dried_shop
    rows: list[Found] = []
    for row in looked_at(asked.count, asked.first, each=asked.each, drawn=drawn):
        rows.append(row)
        for text in row.wrong:
            print(f"seed {row.seed}: {text}", flush=True)
        if len(rows) % 100 == 0:
            print(f"{len(rows)} of {asked.count}: {told(rows)}", file=sys.stderr, flush=True)
    print(told(rows))
    return 1 if any(row.wrong for row in rows) else 0


def told(rows: list[Found]) -> str:
    """Counts, CPU seconds and the peak of memory until now."""
    refused = [row.refused for row in rows if row.refused]
    away, wet = sum("away until told" in text for text in refused), sum(map(_too_open, refused))
    slow = max(rows, key=lambda row: row.seconds)
    total = sum(row.seconds for row in rows)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
    return (
        f"{sum(row.planned for row in rows)} planned, {sum(row.went_on for row in rows)} went on,"
        f" {len(refused)} refused ({away} away until told, {wet} open for too short),"
        f" {sum(len(row.wrong) for row in rows)} wrong; {total:.1f} s of CPU,"
        f" {total / len(rows):.2f} s each, {slow.seconds:.1f} s at most (seed {slow.seed}); {peak:.0f} MB"
    )


if __name__ == "__main__":
    sys.exit(main())
