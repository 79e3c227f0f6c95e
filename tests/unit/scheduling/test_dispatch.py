"""The first schedule: longest first, unless what a batch needs goes away for good meanwhile."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planner.model.away import Away
from planner.model.printer import Printer
from planner.scheduling.plan import problem_of
from planner.scheduling.problem.dispatch import ORDERS, _due_first, dispatch, last_ticks
from planner.scheduling.problem.problem import compile_tables
from scripts.bench_mixed import looked_at
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

GONE = (Away(MONDAY + timedelta(hours=14)),)
SHOP = make_workshop(evenings_and_mornings(), Printer("one", "desk"), Printer("two", "tall", away=GONE))
SHORT, LONG = make_batch("short", 100.0, filament="foaming PLA"), make_batch("long", 900.0)


def test_a_batch_whose_filament_goes_for_good_is_printed_before_a_longer_one() -> None:
    """15 h from Monday evening leave no time for 100 minutes of what is gone on Tuesday: that goes first."""
    filaments = tuple(replace(f, away=GONE) if f.name == "foaming PLA" else f for f in SHOP.filaments)
    shop = replace(SHOP, filaments=filaments)
    _, timing = problem_of([LONG, SHORT], shop, MONDAY, {})
    assert timing.end[1] < timing.begin[0]
    assert timing.end[1] <= 14 * 60
    _, longest = problem_of([LONG, SHORT], SHOP, MONDAY, {})
    assert longest.end[0] < longest.begin[1]


def test_the_last_tick_is_that_of_the_filament_or_of_the_last_printer() -> None:
    """A tall bed can be printed by the second alone; a desk bed at any time; what is back counts as there."""
    batches = [make_batch("desk", 60.0), make_batch("high", 60.0, "tall")]
    tables = compile_tables(batches, SHOP, [(0, 900)], 2000, {}, {}, MONDAY)
    assert last_ticks(tables).tolist() == [2001, 14 * 60 - 10]  # the bed must have cooled by then
    back = (Away(MONDAY + timedelta(hours=1), MONDAY + timedelta(hours=2)),)
    shop = replace(SHOP, printers=(SHOP.printers[0], replace(SHOP.printers[1], away=back)))
    assert np.unique(last_ticks(compile_tables(batches, shop, [(0, 900)], 2000, {}, {}, MONDAY))).size == 1


def test_what_is_due_is_tried_in_many_orders() -> None:
    """By the moment, longest and shortest first; then those that are due before the others, at random."""
    due, shortest = np.array([50, 9, 9, 50, 20], np.int32), np.array([5, 1, 2, 9, 3], np.int32)
    orders = [order.tolist() for order in _due_first(due, due == 50, shortest)]
    assert orders[:2] == [[2, 1, 4, 3, 0], [1, 2, 4, 0, 3]]
    assert all(order[3:] == [3, 0] for order in orders[2:])
    assert len(orders) == 2 + ORDERS
    assert len({tuple(order) for order in orders[2:]}) == 6
    none = compile_tables([LONG], SHOP, [(0, 10)], 2000, {}, {}, MONDAY)
    assert dispatch(none) is None


@pytest.mark.parametrize("seed", [930169, 930190, 930209, 930394, 930422, 930502, 930532])
def test_what_is_due_is_printed_in_time(seed: int) -> None:
    """Workshops in which one bed, or a few, must end before their filament is gone: refused before."""
    (found,) = looked_at(1, seed)
    assert (found.planned, found.refused, found.wrong) == (True, "", ())
