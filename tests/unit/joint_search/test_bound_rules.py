"""The bound against every plan that there is of a few pieces, and its parts by themselves."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.joint_search.beds import BedMaker
from planner.joint_search.bound_model import groups_of, least_finish
from planner.joint_search.composition import ComposeTask
from planner.joint_search.free_bound import free_bound
from planner.joint_search.instance import Instance, instance_of
from planner.joint_search.joint import NO_ROOM, timed_start
from planner.joint_search.least_minutes import least_minutes
from planner.joint_search.lost_time import after_absences, first_leads, lost_until
from planner.joint_search.objectives import FINISH
from planner.model.away import Away
from planner.model.recipe import Recipe
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.placement import shadow_area
from tests.unit.joint_search.tasks import make_task
from tests.unit.scheduling.workshops import MONDAY


def partitions(pieces: Sequence[int]) -> Iterator[list[list[int]]]:
    """Every way to lay pieces on beds."""
    if not pieces:
        yield []
        return
    first, rest = pieces[0], pieces[1:]
    for beds in partitions(rest):
        yield [[first], *beds]
        for n in range(len(beds)):
            yield [*beds[:n], [first, *beds[n]], *beds[n + 1 :]]


def best_of_all(instance: Instance) -> float:
    """The soonest finish of all beds, printers and orders that keep area and limits, each started at once."""
    table, found = instance.table, math.inf
    for beds in partitions(range(len(instance.items))):
        if any(len({instance.family[n] for n in bed}) > 1 for bed in beds):
            continue
        for printers in itertools.product(range(len(table.kind_of)), repeat=len(beds)):
            if not all(_lies(instance, bed, p) for bed, p in zip(beds, printers, strict=True)):
                continue
            for order in itertools.permutations(range(len(beds))):
                start = [(tuple(beds[n]), printers[n]) for n in order]
                value = timed_start(table, instance.goal_data, start).values[FINISH]
                found = min(found, value)
    return 60.0 * found


def _lies(instance: Instance, bed: Sequence[int], printer: int) -> bool:
    table, kind = instance.table, int(instance.table.kind_of[printer])
    area = sum(shadow_area(instance.items[n]) for n in bed)
    if area > free_region(instance.kinds[kind].bed).area_mm2 or any(table.barred[printer, n] for n in bed):
        return False
    if table.most is not None and len(bed) > table.most[kind, instance.family[bed[0]]]:
        return False
    return table.longest is None or _minutes(instance, kind, bed) <= float(
        table.longest[kind, instance.family[bed[0]]]
    )


def _minutes(instance: Instance, kind: int, bed: Sequence[int]) -> float:
    from planner.estimate.time.bed_kernel import bed_seconds

    t = instance.table
    members = np.array(bed, dtype=np.int64)
    travel = t.travel[kind, instance.family[bed[0]]]
    seconds = bed_seconds(t.seconds[kind], t.starts, t.reach, t.change[kind], t.least[kind], members, travel)
    return float(t.heat_up[kind]) + float(seconds) / 60.0


def _task(seed: int) -> ComposeTask:
    """Three pieces, one or two printers; some are away for a night, or may run no longer than some hours."""
    task = make_task(seed=seed, parts=2 + seed % 2, printers=1 + seed // 2 % 2, persons=1 + seed // 4 % 2)
    task = replace(task, pieces=task.pieces[:4])
    shop = task.workshop
    if seed % 3 == 1:
        away = Away(MONDAY + timedelta(hours=seed % 5), MONDAY + timedelta(hours=9 + seed), "")
        shop = replace(shop, printers=(replace(shop.printers[0], away=(away,)), *shop.printers[1:]))
    if seed % 3 == 2:
        shop = replace(shop, longest_run_h=6.0)
    return replace(task, workshop=shop)


@pytest.mark.parametrize("seed", range(12))
def test_no_plan_of_all_that_there_are_ends_before_the_bound(seed: int) -> None:
    """With what the best plan needs known, and without; nobody comes at night, printers are away."""
    instance = instance_of(BedMaker(_task(seed)), 28)
    best = best_of_all(instance)
    assert best < 60.0 * NO_ROOM
    assert 0.0 < free_bound(instance) <= best + 1e-6
    assert free_bound(instance) - 1e-6 <= free_bound(instance, best) <= best
    assert free_bound(instance, best + 1.0) <= best + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_what_pieces_add_is_never_more_than_the_minutes_of_a_bed(seed: int) -> None:
    """Random beds of random pieces; one family has spirals, which pay no layer change alone."""
    task = make_task(seed=seed, parts=12, printers=1)
    if seed % 2:
        spiral = {n: replace(p, recipe=Recipe("spiral", spiral=True, walls=1)) for n, p in task.parts.items()}
        task = replace(task, parts={**task.parts, **dict(list(spiral.items())[::3])})
    instance = instance_of(BedMaker(task), 28)
    rng, tightest = np.random.default_rng(seed), math.inf
    for most in (math.inf, 600.0, 120.0):
        least = least_minutes(instance.table, most)
        for _ in range(60):
            family = int(rng.integers(0, len(instance.families)))
            mine = [n for n, one in enumerate(instance.family) if one == family]
            bed = rng.permutation(mine)[: int(rng.integers(1, len(mine) + 1))].tolist()
            true = _minutes(instance, 0, bed) - float(instance.table.heat_up[0])
            told = float(least.own[0, bed].sum() - least.spared[0, family])
            assert told <= true + 1e-6
            assert float(least.lone[0, bed].max()) <= true + 1e-6
            assert float(least.bare[0, bed].sum()) <= true + 1e-6
            tightest = min(tightest, true - told)
    assert tightest < 12.0  # minutes: it is no bound of nothing


def test_first_starts_follow_each_other() -> None:
    """Five minutes each: 5 + 10 + 15 with one person, 5 + 5 + 10 with two; from the first window on."""
    tables = instance_of(BedMaker(make_task(1, 2, 3)), 28).table.tables
    opens = int(tables.opens[0])
    assert first_leads(tables, 3) == 3 * opens + 30.0
    assert first_leads(tables._replace(persons=2), 3) == 3 * opens + 20.0
    assert first_leads(tables, 0) == 0.0


def test_absences_and_nights_that_no_bed_lasts_through_are_lost() -> None:
    """From 18 o'clock: away for 100 min, 10 of them cooling; a night from 23 to 6 o'clock of 420 min."""
    table = instance_of(BedMaker(make_task(1, 2, 1)), 28).table
    cool = int(table.tables.cool[0])
    assert (int(table.tables.closes[0]), int(table.tables.opens[1])) == (300, 720)
    shut = np.array([[0, -1, 100, 200], [0, -1, 150, 260], [-1, 0, 0, 900]], dtype=np.int32)
    away = replace(table, tables=table.tables._replace(shut=shut))
    assert lost_until(away, 0, 1000.0, math.inf) == 160.0 - cool
    assert lost_until(away, 0, 130.0, math.inf) == 30.0 - cool
    assert lost_until(table, 0, 720.0, 60.0) == 420.0 - 60.0 - cool
    assert lost_until(table, 0, 290.0, 60.0) == 0.0
    assert lost_until(table, 0, 10_000.0, math.inf) == 0.0


def test_a_bed_that_an_absence_would_cut_begins_after_it() -> None:
    """Away from minute 100 to 200: 95 min from minute 5 on are done before, 96 are not (5 min to start)."""
    table = instance_of(BedMaker(make_task(1, 2, 1)), 28).table
    shut = np.array([[0, -1, 100, 200]], dtype=np.int32)
    away = replace(table, tables=table.tables._replace(shut=shut))
    assert after_absences(away, 0, 5.0, 95.0) == 100.0
    assert after_absences(away, 0, 5.0, 96.0) == 200.0 + 5.0 + 96.0
    assert after_absences(table, 0, 5.0, 96.0) == 101.0


def test_alike_printers_are_one_group_and_one_that_is_away_is_none_of_them() -> None:
    """Groups share all that the bound knows."""
    task = make_task(1, 3, 3)
    assert [one.printers for one in groups_of(instance_of(BedMaker(task), 28).table)] == [(0, 1, 2)]
    first, *others = task.workshop.printers
    away = replace(first, away=(Away(MONDAY, MONDAY + timedelta(days=2)),))
    task = replace(task, workshop=replace(task.workshop, printers=(away, *others)))
    instance = instance_of(BedMaker(task), 28)
    groups = groups_of(instance.table)
    assert [one.printers for one in groups] == [(0,), (1, 2)]
    least = least_minutes(instance.table)
    there = least_finish(instance, least, groups, [0.0, 0.0], math.inf)
    assert least_finish(instance, least, groups, [600.0, 0.0], math.inf) > there + 10.0


def test_a_printer_that_is_away_for_long_raises_the_bound() -> None:
    """One printer, away from the first hour for two days: all that it does not print before comes after."""
    task = make_task(3, 6, 1)
    plain = free_bound(instance_of(BedMaker(task), 28))
    away = Away(MONDAY + timedelta(hours=1), MONDAY + timedelta(days=2))
    printer = replace(task.workshop.printers[0], away=(away,))
    gone = replace(task, workshop=replace(task.workshop, printers=(printer,)))
    assert free_bound(instance_of(BedMaker(gone), 28)) > plain + 40 * 60.0
