"""Hours, energy and grams of runs, and what failed attempts add."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from planner.costing.machine_work import expected_reprints, hours_lost, planned_work, run_kwh
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.schedule import Run
from planner.model.workshop import Workshop

START = datetime(2026, 12, 1, 18, tzinfo=UTC)
PRINTER = Printer("a", "desk", heat_up_minutes=30.0, print_watts=200.0, heat_up_watts=400.0)
BED = Batch("bed 1", "desk", "PLA", 0.2, (), 120.0, 60.0, 10.0, 0.5)


def work(hours: float, printer: str = "a", kind: str = "desk", rate: float = 0.0, how=planned_work):
    shop = Workshop((PRINTER,), (Filament("PLA", "PLA", 1.24, 1.24),), failure_per_hour=rate)
    run = Run("run 1", "bed 1", printer, START, START + timedelta(hours=hours), True, (), 0.0)
    bed = Batch("bed 1", kind, "PLA", 0.2, (), 60.0 * hours, 60.0, 10.0, 0.5)
    return how(shop, [bed], [run])


def test_two_hours_by_hand():
    """Half an hour at 400 W, then one and a half at 200 W: 0.2 and 0.3 kWh."""
    assert run_kwh(PRINTER, 2.0) == pytest.approx((0.3, 0.2))
    found = work(2.0)
    assert (found.print_kwh, found.heat_up_kwh) == pytest.approx((0.3, 0.2))
    assert (found.hours, found.grams) == ({"a": 2.0}, {"PLA": 60.0})


def test_a_short_run_counts():
    """Half an hour is heating alone."""
    found = work(0.5)
    assert (found.print_kwh, found.heat_up_kwh, found.hours) == (0.0, 0.2, {"a": 0.5})


def test_a_printer_of_unknown_kind_takes_hours_and_no_energy():
    """One that is no more and has no like: its hours and grams count, its power is not made up."""
    found = work(2.0, "gone", "other")
    assert (found.print_kwh, found.heat_up_kwh) == (0.0, 0.0)
    assert (found.hours, found.grams) == ({"gone": 2.0}, {"PLA": 60.0})


@pytest.mark.parametrize("hours", [0.1, 0.5, 1.0, 8.0, 30.0])
def test_lost_hours_by_counting_failures(hours):
    """The closed form is the sum over failures: each attempt fails with p = 1 - exp(-r h), and a failed
    one lasts 1 / r - h exp(-r h) / p on average; p / (1 - p) attempts fail before one does not."""
    from math import exp

    rate = 0.03
    p = 1.0 - exp(-rate * hours)
    mean = 1.0 / rate - hours * exp(-rate * hours) / p
    assert hours_lost(hours, rate) == pytest.approx(p / (1.0 - p) * mean, rel=1e-9)
    assert hours_lost(hours, rate) > 0.0


def test_nothing_is_lost_without_hours_or_failures():
    """No rate, no hours: nothing, and no division by nothing."""
    assert hours_lost(0.0, 0.5) == hours_lost(3.0, 0.0) == 0.0


def test_reprints_take_their_share_of_everything():
    """Of a run of two hours at 0.1 an hour (e^0.2 - 1) / 0.1 - 2 = 0.21403 h: a share of 0.107014."""
    found = work(2.0, rate=0.1, how=expected_reprints)
    assert found.hours["a"] == pytest.approx(0.214028, abs=1e-6)
    assert found.grams["PLA"] == pytest.approx(60.0 * 0.107014, abs=1e-4)
    assert found.print_kwh == pytest.approx(0.3 * 0.107014, abs=1e-6)
    assert found.heat_up_kwh == pytest.approx(0.2 * 0.107014, abs=1e-6)


def test_each_printer_takes_its_own_power():
    """Of two printers of one kind the second one, which takes half as much, does the bed."""
    frugal = Printer("b", "desk", heat_up_minutes=30.0, print_watts=100.0, heat_up_watts=200.0)
    shop = Workshop((PRINTER, frugal), (Filament("PLA", "PLA", 1.24, 1.24),))
    run = Run("run 1", "bed 1", "b", START, START + timedelta(hours=2), True, (), 0.0)
    found = planned_work(shop, [BED], [run])
    assert (found.print_kwh, found.heat_up_kwh) == pytest.approx((0.15, 0.1))
