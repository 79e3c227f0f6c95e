"""Beds wait for spools that come out of a dryer late: by hand, and minute by minute."""

from __future__ import annotations

import itertools
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from planner.model.attendance import Attendance
from planner.model.drying import Dryer, DryerLoad
from planner.model.filament import Filament, Spool
from planner.model.printer import Printer
from planner.model.risk import Chances, RiskAsked
from planner.model.schedule import Draw, Run, Schedule, Visit
from planner.model.workshop import Workshop
from planner.scheduling.drying import first_rooms
from planner.scheduling.problem.dry_spans import Asked
from planner.scheduling.simulation.presence_kernel import NEVER, NOBODY, Dryers, Workplace, gap_end
from planner.scheduling.simulation.slots import padded, slots_of
from planner.scheduling.simulation.slots_kernel import somebody_from
from planner.scheduling.simulation.workplace import workplace_of
from planner.scheduling.simulation.worlds import TRIES, lived_in, lived_through
from planner.scheduling.simulation.worlds_kernel import Fate, Lived
from tests.kits.mixed_shop import dried_shop
from tests.slow_worlds import Bed, Load, finish_of
from tests.unit.scheduling.test_drying import planned
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch

Plan = tuple[Workplace, Dryers]
START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
NYLON = Filament("PA", "PA", 1.14, 1.14, dry_hours=1.0, needs_drying=True)
PRINTERS = tuple(
    Printer(name, "desk", loaded="PA", heat_up_minutes=0.0, cool_down_minutes=0.0) for name in ("one", "two")
)
SHOP = Workshop(  # somebody is always there, and handling takes no time
    PRINTERS, (NYLON,), (Spool("A", "PA", 500.0), Spool("B", "PA", 500.0)), Attendance(), dryer=Dryer(),
    start_minutes=0, clear_minutes=0, change_minutes=0,
)  # fmt: skip


def at(minute: float) -> datetime:
    """A moment of the plan."""
    return START + timedelta(minutes=minute)


def run(bed: str, printer: str, begin: float, end: float, spool: str) -> Run:
    """A run of ten grams."""
    return Run(f"run of {bed}", bed, printer, at(begin), at(end), True, (Draw(spool, 10.0),), 0.0)


def load(spool: str, put_in: float, take_out: float, dryer: int = 1) -> DryerLoad:
    """One spool in a dryer."""
    return DryerLoad(dryer, "PA", (spool,), at(put_in), at(take_out))


def work_of(runs: tuple[Run, ...], loads: tuple[DryerLoad, ...], visits: tuple[float, ...] = ()) -> Plan:
    """The plan as arrays."""
    finish = max(one.end for one in runs)
    hours = (finish - START).total_seconds() / 3600.0
    seen = tuple(Visit(at(minute), 1, ()) for minute in visits)
    schedule = Schedule(runs, seen, finish, hours, {}, None, None, len(seen), 0, drying=loads)
    beds = [
        make_batch(one.batch, (one.end - one.start).total_seconds() / 60.0, filament="PA") for one in runs
    ]
    return workplace_of(schedule, beds, SHOP, START), slots_of(schedule, SHOP, START)


def lived(plan: Plan, times: list[float], fails: list[float], missed: tuple[int, ...] = ()) -> Lived:
    """One world by hand."""
    minutes = np.full((1, len(times), TRIES), NEVER)
    minutes[0, :, 0] = fails
    work, dryers = plan
    gone = np.zeros((1, len(work.visits)), dtype=np.int32)
    gone[0, list(missed)] = 1
    return lived_in(work, dryers, Fate(np.array([times]), minutes, gone))


FIRST, AGAIN = run("P", "one", 0, 100, "A"), run("Q", "one", 160, 210, "A")
IN_BETWEEN = load("A", 100, 160)  # dried again for an hour between the two


def test_a_late_bed_keeps_its_spool_from_the_dryer_and_the_next_bed_waits() -> None:
    """P takes 150 min instead of 100: in at 150, out at 210, Q until 260; both decide, P costs 50 min."""
    work = work_of((FIRST, AGAIN), (IN_BETWEEN,))
    assert lived(work, [1.0, 1.0], [NEVER] * 2).finish.tolist() == [210.0]
    late = lived(work, [1.5, 1.0], [NEVER] * 2)
    assert late.finish.tolist() == [260.0]
    assert late.decides.tolist() == [[1, 1]]
    assert late.sooner[0, 0] == 50.0
    without = lived(work_of((FIRST, AGAIN), ()), [1.5, 1.0], [NEVER] * 2)
    assert without.finish.tolist() == [210.0]  # what drying changes


def test_an_early_bed_changes_nothing() -> None:
    """Whoever is there does what the plan says, and when."""
    early = lived(work_of((FIRST, AGAIN), (IN_BETWEEN,)), [0.5, 1.0], [NEVER] * 2)
    assert early.finish.tolist() == [210.0]
    assert early.decides.tolist() == [[0, 1]]


def test_what_was_late_is_made_up_where_it_lies_in_the_dryer_for_longer_than_it_must() -> None:
    """Out at 190 as planned although it is in at 130 only: dry at 190. Ten minutes more make it late."""
    runs = (FIRST, run("Q", "one", 190, 240, "A"))
    work = work_of(runs, (load("A", 100, 190),))
    made_up = lived(work, [1.3, 1.0], [NEVER] * 2)
    assert (made_up.finish.tolist(), made_up.decides.tolist()) == ([240.0], [[0, 1]])
    assert lived(work, [1.4, 1.0], [NEVER] * 2).finish.tolist() == [250.0]


def test_a_visit_that_is_missed_leaves_the_spool_in_the_dryer() -> None:
    """Visits at 0, 60 and 100: B comes out at 100 instead of 60, and Q ends at 150, by nobody's trouble."""
    work = work_of((run("Q", "two", 60, 110, "B"),), (load("B", 0, 60),), (0.0, 60.0, 100.0))
    assert lived(work, [1.0], [NEVER]).finish.tolist() == [110.0]
    found = lived(work, [1.0], [NEVER], missed=(1,))
    assert (found.finish.tolist(), found.sooner.tolist()) == ([150.0], [[0.0]])
    put_in_late = lived(work, [1.0], [NEVER], missed=(0,))  # in at 60, dry at 120
    assert put_in_late.finish.tolist() == [170.0]


def test_a_load_waits_until_the_dryer_is_empty() -> None:
    """P is 50 min late: A out at 210, B in at 210 and out at 270, R on the other printer until 330."""
    runs = (FIRST, AGAIN, run("R", "two", 220, 280, "B"))
    found = lived(work_of(runs, (IN_BETWEEN, load("B", 160, 220))), [1.5, 1.0, 1.0], [NEVER] * 3)
    assert found.finish.tolist() == [330.0]
    assert found.decides.tolist() == [[1, 0, 1]]
    other = lived(work_of(runs, (IN_BETWEEN, load("B", 160, 220, dryer=2))), [1.5, 1.0, 1.0], [NEVER] * 3)
    assert other.finish.tolist() == [280.0]


def test_a_bed_that_fails_frees_its_spool_and_is_printed_again_behind_the_next() -> None:
    """P is lost at 40 and its end is seen at once: all goes as planned, P again from 210 to 310."""
    found = lived(work_of((FIRST, AGAIN), (IN_BETWEEN,)), [1.0, 1.0], [40.0, NEVER])
    assert found.finish.tolist() == [310.0]
    assert found.tries.tolist() == [[2, 1]]


def test_what_is_in_the_dryer_at_the_start_is_in() -> None:
    """Whether a visit at the start is missed or not."""
    work = work_of((run("Q", "two", 30, 80, "B"),), (load("B", -30, 30),), (0.0, 30.0))
    assert lived(work, [1.0], [NEVER], missed=(0,)).finish.tolist() == [80.0]


def test_what_is_out_at_the_start_is_out() -> None:
    """A minute before it, too, and where nobody is there at first."""
    for before in (60.0, 1.0, 0.0):
        work, dryers = work_of((run("Q", "two", 30, 80, "B"),), (load("B", -120, -before),))
        late = work._replace(there=np.array([[20.0, 500.0, 1.0]]))
        assert lived((late, dryers), [1.0], [NEVER]).finish.tolist() == [80.0]
        later = work._replace(there=np.array([[40.0, 500.0, 1.0]]))
        assert lived((later, dryers), [1.0], [NEVER]).finish.tolist() == [90.0]


def test_slots_name_what_each_bed_needs_and_frees() -> None:
    """The last load before a bed, the first behind it; of a dryer those that nothing else waits for."""
    loads = (load("B", 0, 60), IN_BETWEEN, load("A", 300, 360), load("B", 70, 130, dryer=2))
    runs = (FIRST, AGAIN, run("R", "two", 200, 250, "B"))
    schedule: Any = Schedule(runs, (), at(250), 4.2, {}, None, None, 0, 0, drying=loads)
    slots = slots_of(schedule, SHOP, START)
    assert slots.loads.tolist() == [[0, 60, 60], [70, 130, 60], [100, 160, 60], [300, 360, 60]]
    assert slots.follows.tolist() == [[NOBODY], [NOBODY], [0], [2]]
    assert slots.needs_dry.tolist() == [[NOBODY], [2], [1]]
    assert slots.frees.tolist() == [[2], [3], [NOBODY]]
    assert padded([[], []]).shape == (2, 0)


def test_somebody_is_there_for_a_minute() -> None:
    """Not in the last instant of a window, where nothing could be put in."""
    work = work_of((FIRST,), ())[0]._replace(there=np.array([[0.0, 60.0, 1.0], [100.0, 160.0, 1.0]]))
    none = np.zeros(0, dtype=np.int32)
    assert [somebody_from(work, none, minute) for minute in (0.0, 59.0, 59.5, 80.0, 160.0)] == [
        0.0,
        59.0,
        100.0,
        100.0,
        NEVER,
    ]
    assert gap_end(work, none, 50.0, 70.0) == 100.0


@pytest.mark.parametrize("seed", [1, 8, 10, 36])
def test_where_nothing_goes_wrong_every_world_is_the_plan(seed: int) -> None:
    """Random workshops with dryers: absences, nozzles, spools that are dry already."""
    shop = dried_shop(seed)
    grams: dict[str, tuple[float, int]] = {}
    for batch in shop.batches:
        before = grams.get(batch.filament, (0.0, 0))
        grams[batch.filament] = before[0] + batch.mass_g, before[1] + 1
    schedule, faults = planned(shop.workshop, shop.batches, Asked(first_rooms(grams, shop.workshop)))
    assert (faults, len(schedule.drying) > 0) == ([], True)
    worlds = lived_through(schedule, shop.batches, shop.workshop, MONDAY, Chances(RiskAsked(1), 1))
    assert worlds.lived.finish.tolist() == pytest.approx([60.0 * schedule.makespan_h], abs=1e-6)


@pytest.mark.parametrize("number", [2, pytest.param(3, marks=pytest.mark.slow)])
def test_all_worlds_of_a_dried_plan_agree_with_a_clock_that_goes_minute_by_minute(number: int) -> None:
    """Two or three of four beds fail once or not, are late or not, three visits are missed or not."""
    kind = replace(NYLON, dry_hours=4.0, open_hours=16.0, watch_minutes=0, unattended_run=True)
    printers = tuple(replace(one, cool_down_minutes=7.0) for one in PRINTERS)
    shop = replace(
        SHOP, printers=printers, filaments=(kind,), attendance=evenings_and_mornings(),
        start_minutes=5, clear_minutes=10, change_minutes=10,
    )  # fmt: skip
    beds = tuple(make_batch(f"bed {n}", 320.0, filament="PA") for n in range(1, 5))
    schedule, faults = planned(shop, beds)
    assert (faults, len(schedule.drying) > 1) == ([], True)
    work, dryers = workplace_of(schedule, beds, shop, MONDAY), slots_of(schedule, shop, MONDAY)
    worlds = list(itertools.product((0, 1), repeat=2 * number + 3))
    finishes = [_slow(work, dryers, world, number) for world in worlds]
    assert lived_in(work, dryers, _fate(work, worlds, number)).finish.tolist() == finishes
    none = slots_of(replace(schedule, drying=()), shop, MONDAY)
    without = lived_in(work, none, _fate(work, worlds, number)).finish
    differs = sum(a != b for a, b in zip(finishes, without, strict=True))
    assert differs > len(worlds) // 5  # dryers change what comes of these worlds


def _fate(work: Workplace, worlds: list[tuple[int, ...]], number: int) -> Fate:
    beds = len(work.minutes)
    times, missed = np.ones((len(worlds), beds)), np.zeros((len(worlds), len(work.visits)), dtype=np.int32)
    fails = np.full((len(worlds), beds, TRIES), NEVER)
    for row, world in enumerate(worlds):
        times[row, :number] = [1.5 if late else 1.0 for late in world[number : 2 * number]]
        fails[row, :number, 0] = [160.0 if lost else NEVER for lost in world[:number]]
        missed[row, :3] = world[-3:]
    return Fate(times, fails, missed)


def _slow(work: Workplace, dryers: Dryers, world: tuple[int, ...], number: int) -> int:
    there = [0] * 20_000
    for since, until, persons in work.there.astype(int).tolist():
        there[since:until] = [persons] * len(there[since:until])
    for (since, back), gone in zip(work.visits.astype(int).tolist(), world[-3:], strict=False):
        if gone:
            there[since:back] = [0] * len(there[since:back])
    of = {int(n): row for row, line in enumerate(work.queue) for n in line if n >= 0}
    beds = []
    for n, begin in enumerate(work.begins.astype(int).tolist()):
        minutes = int(work.minutes[n])
        late, lost = (world[number + n], world[n]) if n < number else (0, 0)
        lasts = minutes * 3 // 2 if late else minutes
        beds.append(Bed(of[n], begin, minutes, 0, lasts, [160 if lost else 10**6, 10**6]))
    loads = []
    for n, (put_in, take_out, dries) in enumerate(dryers.loads.astype(int).tolist()):
        before = [m for m in dryers.follows[n].tolist() if m >= 0]
        loads.append(Load(put_in, take_out, dries, before, np.argwhere(dryers.frees == n)[:, 0].tolist()))
    needs = [[load for load in row if load >= 0] for row in dryers.needs_dry.tolist()]
    return finish_of(beds, len(work.queue), there, (5, 10, 10), 7, loads, needs)
