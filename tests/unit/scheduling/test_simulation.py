"""Worlds in which things go wrong: by hand, by formula, minute by minute, and the plan where nothing does."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from datetime import UTC, datetime, time

import numpy as np
import pytest

from planner.model.attendance import Attendance, WeeklyWindow
from planner.model.away import Away
from planner.model.batch import Batch
from planner.model.effort import QUICK
from planner.model.printer import Printer
from planner.model.risk import Chances, RiskAsked
from planner.model.schedule import Schedule
from planner.model.workshop import Workshop
from planner.scheduling.plan import schedule_batches
from planner.scheduling.simulation.presence_kernel import Dryers, Workplace
from planner.scheduling.simulation.workplace import workplace_of
from planner.scheduling.simulation.worlds import TRIES, at_share, lived_in, lived_through
from planner.scheduling.simulation.worlds_kernel import Fate, Lived
from tests.slow_worlds import Bed, finish_of
from tests.unit.scheduling.workshops import make_batch, make_workshop, random_case

START = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)
NEVER = math.inf


def planned(batches: list[Batch], shop: Workshop) -> Schedule:
    """A schedule of the quick search."""
    return schedule_batches(batches, shop, START, section_of={}, effort=QUICK, seed=1)


def no_hands(*printers: Printer) -> Workshop:
    """Somebody is always there, and handling takes no time."""
    shop = make_workshop(Attendance(), *printers)
    return replace(shop, start_minutes=0, clear_minutes=0, change_minutes=0)


def plain(name: str, kind: str = "desk") -> Printer:
    """A printer that heats and cools in no time."""
    return Printer(name, kind, loaded="PLA", heat_up_minutes=0.0, cool_down_minutes=0.0)


def no_dryers(work: Workplace) -> Dryers:
    """Nothing is dried."""
    none = np.zeros((len(work.minutes), 0), dtype=np.int32)
    return Dryers(np.zeros((0, 3)), np.zeros((0, 0), dtype=np.int32), none, none)


def lived(work: Workplace, times: list[list[float]], fails: list[list[float]]) -> Lived:
    """Worlds by hand: times as long, and the minute at which the first try fails."""
    worlds, beds = len(times), len(times[0])
    minutes = np.full((worlds, beds, TRIES), NEVER)
    minutes[:, :, 0] = fails
    return lived_in(
        work,
        no_dryers(work),
        Fate(np.array(times), minutes, np.zeros((worlds, len(work.visits)), dtype=np.int32)),
    )


@pytest.mark.parametrize("seed", range(12))
def test_where_nothing_goes_wrong_every_world_is_the_plan(seed: int) -> None:
    """Random workshops: printers, filaments, hours and persons."""
    batches, shop = random_case(seed)
    schedule = planned(batches, shop)
    worlds = lived_through(schedule, batches, shop, START, Chances(RiskAsked(2), 1))
    assert worlds.lived.finish.tolist() == pytest.approx([60.0 * schedule.makespan_h] * 2, abs=1e-6)
    assert worlds.lived.spoilt.sum() == 0.0
    assert worlds.lived.tries.tolist() == [[1] * len(batches)] * 2


def test_a_chain_of_beds_with_two_outcomes_is_binomial() -> None:
    """Four beds of 100 min, each lost after 30 or not, all 16 worlds alike.

    No bed begins before its time, so each that is lost costs 100 min, the last one 30 with that:
    400 + 100 j where the last holds, 430 + 100 j where it does not, j of the three before being lost, which
    is binomial (1, 3, 3, 1). In their order: 400, 430, 3 x 500, 3 x 530, 3 x 600, 3 x 630, 700, 730.
    """
    batches = [make_batch(f"bed {n}", 100.0) for n in range(4)]
    shop = no_hands(plain("one"))
    work = workplace_of(planned(batches, shop), batches, shop, START)
    outcomes = list(itertools.product((30.0, NEVER), repeat=4))
    found = lived(work, [[1.0] * 4] * 16, [list(row) for row in outcomes])
    assert sorted(found.finish.tolist()) == [
        400,
        430,
        *[500] * 3,
        *[530] * 3,
        *[600] * 3,
        *[630] * 3,
        700,
        730,
    ]
    assert [at_share(found.finish, share) for share in (0.5, 0.68, 0.9, 0.95)] == [530.0, 600.0, 700.0, 730.0]
    assert found.spoilt.sum() == pytest.approx(32 * 0.3)


def test_the_mean_of_a_bed_that_is_begun_anew_until_it_holds() -> None:
    """(exp(lambda L) - 1) / lambda: Ross, Introduction to Probability Models, on conditioning."""
    batches = [make_batch("bed", 300.0)]
    shop = no_hands(plain("one"))
    chances = Chances(RiskAsked(4000), 7, {"one": 0.1})
    finish = lived_through(planned(batches, shop), batches, shop, START, chances).lived.finish
    rate = 0.1 / 60.0
    expected = (math.exp(rate * 300.0) - 1.0) / rate
    assert abs(finish.mean() - expected) < 3.5 * finish.std() / math.sqrt(len(finish))


def test_the_median_of_late_minutes_is_the_plan_and_its_spread_is_theirs() -> None:
    """One bed of 1,000 min: ln(finish / planned) is normal, 90 % of it below 1.2816 deviations."""
    batches, shop = [make_batch("bed", 1000.0)], no_hands(plain("one"))
    chances = Chances(RiskAsked(4000), 3, {}, {"one": 0.06}, 0.08)
    off = np.log(lived_through(planned(batches, shop), batches, shop, START, chances).lived.finish / 1000.0)
    assert abs(float(np.median(off))) < 0.005
    assert at_share(off, 0.9) == pytest.approx(1.2816 * 0.1, abs=0.006)


def test_the_bed_that_decides_and_how_much_it_costs() -> None:
    """Two printers, 100 and 90 min: half as long again ends at 135, 35 min after the other."""
    batches, shop = [make_batch("long", 100.0), make_batch("short", 90.0)], no_hands(plain("a"), plain("b"))
    schedule = planned(batches, shop)
    at = [run.batch for run in schedule.runs].index("short")
    times = [[1.5, 1.0] if at == 0 else [1.0, 1.5], [1.0, 1.0]]
    found = lived(workplace_of(schedule, batches, shop, START), times, [[NEVER] * 2] * 2)
    assert found.finish.tolist() == [135.0, 100.0]
    assert found.decides[:, at].tolist() == [1, 0]
    assert found.decides[:, 1 - at].tolist() == [0, 1]
    assert found.sooner[0, at] == 35.0
    assert found.sooner[1].tolist() == [0.0, 0.0]


def test_a_late_bed_pushes_the_next_and_both_decide() -> None:
    """One printer: the second bed decides alone while the first is in time."""
    batches, shop = [make_batch("first", 60.0), make_batch("second", 50.0)], no_hands(plain("one"))
    work = workplace_of(planned(batches, shop), batches, shop, START)
    found = lived(work, [[1.1, 1.0], [0.9, 1.0]], [[NEVER] * 2] * 2)
    assert found.decides.tolist() == [[1, 1], [0, 1]]
    assert found.finish.tolist() == pytest.approx([work.minutes[0] * 1.1 + work.minutes[1], 110.0])


def _evening(persons: int) -> Workshop:
    there = Attendance((WeeklyWindow(tuple(range(7)), time(6), time(9)),), persons=persons)
    shop = make_workshop(there, *(replace(plain(name), cool_down_minutes=7.0) for name in ("a", "b")))
    kinds = tuple(replace(one, watch_minutes=0, unattended_run=True) for one in shop.filaments)
    return replace(shop, filaments=kinds, start_minutes=5, clear_minutes=10, change_minutes=10)


@pytest.mark.parametrize("persons", [1, 2])
def test_all_worlds_of_a_tiny_plan_agree_with_a_clock_that_goes_minute_by_minute(persons: int) -> None:
    """Three beds that fail once or not, are late or not, two visits that are missed or not: 256 worlds."""
    shop = _evening(persons)
    batches = [make_batch("p", 40.0), make_batch("q", 70.0, filament="TPU"), make_batch("r", 90.0)]
    schedule = planned(batches, shop)
    work = workplace_of(schedule, batches, shop, START)
    number = {name: n for n, name in enumerate(["PLA", "foaming PLA", "TPU"])}
    named = {batch.name: batch for batch in batches}
    names = [printer.name for printer in shop.printers]
    worlds = list(itertools.product((0, 1), repeat=8))
    found = lived_in(work, no_dryers(work), _fate(work, worlds))
    differs = 0
    for row, world in enumerate(worlds):
        beds = []
        for n, run in enumerate(schedule.runs):
            minutes = int(work.minutes[n])
            lasts = minutes * (3 if world[3 + n] else 2) // 2
            fails = [minutes // 2 if world[n] else 10**6, 10**6]
            filament = number[named[run.batch].filament]
            beds.append(Bed(names.index(run.printer), int(work.begins[n]), minutes, filament, lasts, fails))
        slow = finish_of(beds, 2, _persons(work, world[6:], persons), (5, 10, 10), 7)
        assert found.finish[row] == slow, world
        differs += slow != round(60.0 * schedule.makespan_h)
    assert differs > 100  # the worlds are not all the plan


def _fate(work: Workplace, worlds: list[tuple[int, ...]]) -> Fate:
    beds, visits = len(work.minutes), len(work.visits)
    times, missed = np.ones((len(worlds), beds)), np.zeros((len(worlds), visits), dtype=np.int32)
    fails = np.full((len(worlds), beds, TRIES), NEVER)
    for row, world in enumerate(worlds):
        times[row] = [1.5 if world[3 + n] else 1.0 for n in range(beds)]
        fails[row, :, 0] = [work.minutes[n] // 2 if world[n] else NEVER for n in range(beds)]
        missed[row, : min(2, visits)] = world[6 : 6 + min(2, visits)]
    return Fate(times, fails, missed)


def _persons(work: Workplace, missed: tuple[int, ...], persons: int) -> list[int]:
    there = [0] * 6000
    for since, until, _ in work.there.astype(int).tolist():
        there[since:until] = [persons] * len(there[since:until])
    for (since, back), gone in zip(work.visits.astype(int).tolist(), missed, strict=False):
        if gone:
            there[since:back] = [0] * len(there[since:back])
    return there


def test_the_same_seed_gives_the_same_worlds_and_fewer_are_the_first_of_them() -> None:
    """And another seed gives others."""
    batches, shop = random_case(1)
    schedule = planned(batches, shop)
    rates, spreads = {p.name: 0.01 for p in shop.printers}, {p.name: 0.1 for p in shop.printers}

    def finish(worlds: int, seed: int) -> list[float]:
        chances = Chances(RiskAsked(worlds, 0.1), seed, rates, spreads, 0.03)
        return lived_through(schedule, batches, shop, START, chances).lived.finish.tolist()

    assert finish(300, 1)[:40] == finish(40, 1) == finish(40, 1)
    assert finish(40, 2) != finish(40, 1)


def test_nothing_is_started_while_the_printer_is_away() -> None:
    """It is away for a day from the planned end of the first bed on: the second waits for its return."""
    away = Away(datetime(2026, 3, 2, 9, tzinfo=UTC), datetime(2026, 3, 3, 9, tzinfo=UTC))
    printer = replace(plain("one"), away=(away,))
    batches, shop = [make_batch("first", 60.0), make_batch("second", 60.0)], no_hands(printer)
    schedule = planned(batches, shop)
    work = workplace_of(schedule, batches, shop, START)
    found = lived(work, [[2.5, 1.0]], [[NEVER, NEVER]])
    assert schedule.makespan_h == 2.0
    assert found.finish.tolist() == [27.0 * 60.0 + 60.0]


def test_where_nobody_ever_comes_again_a_world_never_ends() -> None:
    """The only window is that of the plan; a bed that fails is not printed again."""
    shop = make_workshop(Attendance(dates=(), weekly=(WeeklyWindow((0,), time(6), time(7)),)), plain("one"))
    batches = [make_batch("bed", 600.0)]
    schedule = planned(batches, shop)
    work = workplace_of(schedule, batches, shop, START)
    work = work._replace(there=work.there[:1])
    found = lived(work, [[1.0], [1.0]], [[NEVER], [300.0]])
    assert found.finish.tolist() == [60.0 * schedule.makespan_h, NEVER]
    assert at_share(found.finish, 0.9) == NEVER
