"""The cost sheet: every line by hand, nothing counted twice, nothing unknown counted as zero."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from planner.costing.cost import cost_sheet
from planner.costing.cost_lines import cost_line
from planner.costing.machine_work import hours_lost, run_kwh
from planner.model.airframe import Finish, Fitting
from planner.model.batch import Batch
from planner.model.budget import Cost
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.schedule import Draw, Run, Schedule, SpoolUse, Visit
from planner.model.workshop import Workshop
from planner.pipeline.verify_sums import cost_faults
from planner.weights.mass import airframe_mass
from tests.unit.weights.samples import airframe

START = datetime(2026, 12, 1, 18, tzinfo=UTC)
PLA = Filament("PLA", "polylactic acid", 1.24, 1.24, price_minor=2500)
TPU = Filament("TPU", "polyurethane", 1.21, 1.21, spool_g=500.0)
PRINTER = Printer(
    "large",
    "large 300",
    heat_up_minutes=6.0,
    print_watts=100.0,
    heat_up_watts=250.0,
    wear_minor_per_hour=20,
)
SHOP = Workshop(
    (PRINTER,),
    (PLA, TPU),
    energy_price_per_kwh=Decimal("0.30"),
    person_price_per_hour=Decimal("30.00"),
    failure_per_hour=0.002,
)
BEDS = (
    Batch("bed 1", "large 300", "PLA", 0.2, (), 606.0, 200.0, 50.0, 0.4),
    Batch("bed 2", "large 300", "TPU", 0.2, (), 120.0, 30.0, 50.0, 0.4),
)
SPOOLS = (
    SpoolUse("spool 1", "PLA", False, 150.0, 150.0, 0.0, 0.0, 2500),
    SpoolUse("spool 2", "PLA", True, 1000.0, 50.0, 8.0, 942.0, 2500),
    SpoolUse("spool 3", "TPU", True, 500.0, 30.0, 0.0, 470.0, None),
)


def timetable() -> Schedule:
    first = Run(
        "run 1", "bed 1", "large", START, START + timedelta(minutes=606), True, (Draw("spool 1", 200.0),), 0.0
    )
    later = first.end + timedelta(hours=2)
    second = Run(
        "run 2", "bed 2", "large", later, later + timedelta(hours=2), True, (Draw("spool 3", 30.0),), 8.0
    )
    visits = (Visit(START, 10, ("start bed 1",)), Visit(later, 20, ("start bed 2",)))
    return Schedule((first, second), visits, second.end, 14.1, {"large": 12.1}, None, None, 2, 1)


def sheet(shop: Workshop = SHOP, **more: object) -> Cost:
    plane = airframe(**more)
    return cost_sheet(plane, shop, airframe_mass(plane, (), {}, (), {}), BEDS, timetable(), SPOOLS)


def amounts(cost: Cost) -> dict[str, int | None]:
    return {line.what: line.amount_minor for line in cost.lines}


def test_lines_by_hand():
    """Each line of two runs: grams, energy with heat-up apart, wear, person, in cents."""
    found = amounts(sheet())
    assert found["PLA"] == 500  # 200 g x 0.025
    assert found["PLA, purged"] == 20  # 8 g x 0.025
    assert found["energy, printing"] == 36  # (10.0 + 1.9) h x 0.1 kW = 1.19 kWh x 0.30 = 0.357
    assert found["energy, heating up"] == 2  # 2 x 0.1 h x 0.25 kW = 0.05 kWh x 0.30 = 0.015
    assert found["wear of large"] == 242  # 12.1 h x 0.20
    assert found["person"] == 1500  # 30 min at 30 an hour


def test_whole_spools_stand_apart():
    """The spool that must be bought is shown and not in the total, which counts the grams used."""
    cost = sheet()
    assert amounts(cost)["spool of PLA, 1000 g"] == 2500
    assert cost.apart_minor == {"spools to buy": 2500}
    assert cost.total_minor == sum(cost.totals_minor.values())
    assert "spools to buy" not in cost.totals_minor


def test_what_has_no_price_is_named():
    """TPU and a fitting without price are left out by name, and no amount is made up for them."""
    cost = sheet(fittings=(Fitting("servo", 9.0, count=4, price_minor=690), Fitting("motor", 50.0)))
    assert amounts(cost)["servo"] == 2760
    assert amounts(cost)["motor"] is None
    assert set(cost.left_out) >= {"TPU", "motor"}
    assert all(line.unit_price is None for line in cost.lines if line.amount_minor is None)


def test_finish_price_is_one_lot():
    """Glue and paint at 12.50 count once; without a price they are named."""
    priced = sheet(finish=Finish(10.0, 20.0, price_minor=1250))
    assert priced.totals_minor["finish"] == 1250
    assert {"glue", "primer and paint"} <= set(sheet(finish=Finish(10.0, 20.0)).left_out)


def test_no_rates_no_amounts():
    """Without energy price, wear and rate the lines stay, without money; the person's line goes."""
    shop = Workshop((Printer("large", "large 300"),), (PLA, TPU))
    cost = sheet(shop)
    assert {"energy, printing", "energy, heating up", "wear of large"} <= set(cost.left_out)
    assert "person" not in amounts(cost)


def test_expected_reprints_by_hand():
    """At 0.002 an hour a run of 10.1 h loses (e^0.0202 - 1) / 0.002 - 10.1 = 0.1027 h."""
    lost = hours_lost(10.1, 0.002)
    assert lost == pytest.approx((math.exp(0.0202) - 1.0) / 0.002 - 10.1)
    assert lost == pytest.approx(0.002 * 10.1**2 / 2.0, rel=0.01)
    line = next(li for li in sheet().lines if li.what == "PLA (reprints)")
    assert line.quantity == Decimal("2.0")  # 200 g x 0.1027 / 10.1
    assert line.amount_minor == 5
    assert hours_lost(10.0, 0.0) == 0.0


def test_what_has_no_price_is_named_once():
    """TPU is named by its own line; its reprints add no second line without money."""
    assert [line.what for line in sheet().lines if line.what.startswith("TPU")] == ["TPU"]


def test_reprints_by_simulation():
    """Failing again and again at a constant rate loses on average what the closed form says."""
    import numpy as np

    rng = np.random.default_rng(7)
    hours, rate, lost = 20.0, 0.05, []
    for _ in range(20_000):
        gone = 0.0
        while (at := rng.exponential(1.0 / rate)) < hours:
            gone += at
        lost.append(gone)
    assert hours_lost(hours, rate) == pytest.approx(np.mean(lost), rel=0.03)


def test_energy_of_a_short_run():
    """A run that ends before the bed is hot takes heating power only."""
    assert run_kwh(PRINTER, 0.05) == pytest.approx((0.0, 0.0125))


@pytest.mark.parametrize(
    ("quantity", "price", "minor"), [(1, "0.005", 1), (1, "0.004", 0), (3, "0.335", 101)]
)
def test_lines_round_half_up(quantity, price, minor):
    """Half a cent rounds up: 1.005 is 1.01."""
    line = cost_line("x", quantity, "piece", Decimal(price), "EUR", "fittings", "given")
    assert line.amount_minor == minor


def test_quantities_and_prices_round_half_up():
    """A quarter of a gram is 0.3 g (not 0.2, the even one); half a millionth of a cent is one."""
    line = cost_line("x", 0.25, "g", Decimal("2.0000005"), "EUR", "filament", "given")
    assert (line.quantity, line.unit_price, line.amount_minor) == (Decimal("0.3"), Decimal("2.000001"), 60)


@pytest.mark.parametrize(("currency", "minor"), [("JPY", 13), ("EUR", 1250), ("KWD", 12500)])
def test_currencies_keep_their_digits(currency, minor):
    """12.5 in a currency of none, two and three digits after the point (ISO 4217)."""
    assert cost_line("x", 1, "piece", Decimal("12.5"), currency, "k", "given").amount_minor == minor


def test_the_check_finds_nothing_and_then_something():
    """A sound sheet passes; a total, an amount and a silent line are each found when they are wrong."""
    from dataclasses import replace

    cost = sheet(fittings=(Fitting("motor", 50.0),))
    assert cost_faults(cost) == ()
    assert "total is told" in cost_faults(replace(cost, total_minor=cost.total_minor + 1))[0]
    assert "left out" in cost_faults(replace(cost, left_out=()))[0]
    wrong = replace(cost.lines[0], amount_minor=(cost.lines[0].amount_minor or 0) + 1)
    assert any("is not" in fault for fault in cost_faults(replace(cost, lines=(wrong, *cost.lines[1:]))))
