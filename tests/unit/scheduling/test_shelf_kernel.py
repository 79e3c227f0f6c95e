"""Order, printer and spool of every batch together: by hand, and against all orders."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from planner.model.printer import Printer
from planner.scheduling.problem.calendar import windows
from planner.scheduling.problem.problem import Tables, compile_tables
from planner.scheduling.spools.shelf_kernel import LATER, Shelf, best_order, timed_by_spool
from tests.unit.scheduling.workshops import MONDAY, evenings_and_mornings, make_batch, make_workshop

DAYS = 28
PLA, FOAM = 0, 1


def tables(*batches: tuple[float, str], loaded: str | None = "PLA") -> Tables:
    printers = [Printer(name, "desk", loaded=loaded, cool_down_minutes=10.0) for name in ("one", "two")]
    workshop = make_workshop(evenings_and_mornings(2), *printers)
    made = [
        make_batch(f"bed {n}", minutes, filament=filament) for n, (minutes, filament) in enumerate(batches)
    ]
    return compile_tables(made, workshop, windows(workshop.attendance, MONDAY, DAYS), DAYS * 1440, {}, {})


def shelf(need: list[int], *spools: tuple[int, int, int], purge: int = 0, gone: int = 0) -> Shelf:
    """Hundredths of a gram: of each batch, and material, content and first tick of each spool.

    One of the two persons is not there in the first ``gone`` ticks.
    """
    taken = np.zeros(DAYS * 1440 + 2, dtype=np.int32)
    taken[:gone] = 1
    material, left, since = (np.array(column, dtype=kind) for column, kind in zip(
        zip(*spools, strict=True), (np.int32, np.int64, np.int32), strict=True
    ))  # fmt: skip
    return Shelf(material, left, since, np.array(need, dtype=np.int64), purge, taken)


def timed(t: Tables, f: Shelf, order: list[int]) -> tuple[float, list[list[int]]]:
    """Cost, and printer, begin, end and spool of each batch."""
    rows = [np.zeros(len(order), dtype=np.int32) for _ in range(4)]
    busy = np.zeros(t.window_at.shape[0] + 1, dtype=np.int32)
    cost = timed_by_spool(t, f, np.array(order, dtype=np.int32), busy, *rows)
    return float(cost), [row.tolist() for row in rows]


def test_a_spool_is_on_one_printer_at_a_time() -> None:
    """Two beds of 100 minutes, one spool: one after the other; with two spools side by side."""
    t = tables((100.0, "PLA"), (100.0, "PLA"))
    _, (_, begin, end, spool) = timed(t, shelf([10, 10], (PLA, 100, 0)), [0, 1])
    assert spool == [0, 0]
    assert begin[1] >= end[0] == 105
    cost, (printer, begin, end, spool) = timed(t, shelf([10, 10], (PLA, 100, 0), (PLA, 100, 0)), [0, 1])
    assert (sorted(printer), begin, end, sorted(spool)) == ([0, 1], [0, 0], [105, 105], [0, 1])
    assert cost == pytest.approx(105.0 + LATER * 105.0)


def test_a_spool_gives_what_is_on_it_and_no_more() -> None:
    """Three beds of 40: a spool of 80 holds two, the third comes from the other one, or has no room."""
    t = tables(*[(100.0, "PLA")] * 3)
    _, (_, _, _, spool) = timed(t, shelf([40, 40, 40], (PLA, 80, 0), (PLA, 40, 0)), [0, 1, 2])
    assert sorted(spool) == [0, 0, 1]
    assert timed(t, shelf([40, 40, 40], (PLA, 80, 0), (PLA, 39, 0)), [0, 1, 2])[0] == -1.0
    assert timed(t, shelf([40, 40, 40], (FOAM, 900, 0)), [0, 1, 2])[0] == -1.0


def test_the_purge_of_a_change_counts() -> None:
    """40 and 5 more where another filament is loaded: a spool of 44 does not suffice, one of 45 does."""
    t = tables((100.0, "foaming PLA"))
    assert timed(t, shelf([40], (FOAM, 44, 0), purge=5), [0])[0] == -1.0
    assert timed(t, shelf([40], (FOAM, 45, 0), purge=5), [0])[0] > 0.0
    empty = tables((100.0, "foaming PLA"), loaded=None)
    assert timed(empty, shelf([40], (FOAM, 40, 0), purge=5), [0])[0] > 0.0


def test_a_spool_that_comes_later_is_waited_for() -> None:
    """At hand from 19:00: the run begins with it; a smaller one that is there goes first."""
    t = tables((100.0, "PLA"))
    _, (_, begin, _, _) = timed(t, shelf([40], (PLA, 100, 60)), [0])
    assert begin == [60]
    _, (_, begin, _, spool) = timed(t, shelf([40], (PLA, 100, 60), (PLA, 40, 0)), [0])
    assert (begin, spool) == ([0], [1])


def test_hands_that_are_not_there_are_waited_for() -> None:
    """Two printers and two spools: one person alone for three minutes, then two."""
    t = tables((100.0, "PLA"), (100.0, "PLA"))
    spools = (PLA, 100, 0), (PLA, 100, 0)
    assert timed(t, shelf([10, 10], *spools, gone=0), [0, 1])[1][1] == [0, 0]
    assert timed(t, shelf([10, 10], *spools, gone=3), [0, 1])[1][1] == [0, 3]


def test_of_two_spools_that_do_as_well_the_emptier_is_used_up() -> None:
    t = tables((100.0, "PLA"))
    assert timed(t, shelf([40], (PLA, 900, 0), (PLA, 50, 0)), [0])[1][3] == [1]
    assert timed(t, shelf([40], (PLA, 50, 0), (PLA, 900, 0)), [0])[1][3] == [0]


def test_the_order_is_as_good_as_the_best_of_all() -> None:
    """Five beds that share two spools: as soon as the best of 120 orders, and the same for the same seed."""
    t = tables((300.0, "PLA"), (200.0, "PLA"), (90.0, "foaming PLA"), (60.0, "PLA"), (150.0, "foaming PLA"))
    f = shelf([50, 40, 30, 20, 30], (PLA, 70, 0), (PLA, 60, 0), (FOAM, 70, 0), purge=2)
    costs = [cost for order in permutations(range(5)) if (cost := timed(t, f, list(order))[0]) >= 0.0]
    found = []
    for _ in range(2):
        order = np.array([4, 3, 2, 1, 0], dtype=np.int32)
        rows = [np.zeros(5, dtype=np.int32) for _ in range(4)]
        busy = np.zeros(t.window_at.shape[0] + 1, dtype=np.int32)
        cost = best_order(t, f, order, 2000, 3, busy, *rows)
        assert sorted(order) == list(range(5))
        assert timed(t, f, order.tolist()) == (cost, [row.tolist() for row in rows])
        found.append(float(cost))
    assert found[0] == found[1] == pytest.approx(min(costs))


def test_no_order_has_room() -> None:
    """Less on the shelf than is needed: a negative number, whatever the steps."""
    t = tables((100.0, "PLA"), (60.0, "PLA"))
    f = shelf([50, 50], (PLA, 60, 0))
    rows = [np.zeros(2, dtype=np.int32) for _ in range(4)]
    busy = np.zeros(t.window_at.shape[0] + 1, dtype=np.int32)
    assert best_order(t, f, np.array([0, 1], dtype=np.int32), 50, 1, busy, *rows) == -1.0
