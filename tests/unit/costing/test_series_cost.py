"""What one more airframe costs, worked by hand: two beds in two filaments on one printer."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from planner.costing.cost import cost_sheet
from planner.costing.machine_work import hours_lost
from planner.costing.series_cost import Seam, divided, seam_of, series_price
from planner.model.airframe import Fitting
from planner.model.fit import Fit
from planner.model.plan import Plan
from planner.weights.mass import airframe_mass
from tests.plan_samples import sample_plan
from tests.unit.costing.test_cost import BEDS, PRINTER, SHOP, SPOOLS, timetable
from tests.unit.weights.samples import airframe


def plan_by_hand() -> Plan:
    """Bed 1 in PLA on a printer with nothing on, then bed 2 in TPU; two rows of servos at 6.90."""
    servo = Fitting("servo", 9.0, count=2, price_minor=690)
    plane = airframe(fittings=(servo, servo))
    mass = airframe_mass(plane, (), {}, (), {})
    cost = cost_sheet(plane, SHOP, mass, BEDS, timetable(), SPOOLS)
    return replace(
        sample_plan(),
        airframe=plane,
        workshop=SHOP,
        mass=mass,
        cost=cost,
        batches=BEDS,
        schedule=timetable(),
        spools=SPOOLS,
        misfits=(),
    )


def priced() -> Plan:
    """With its series."""
    plan = plan_by_hand()
    return replace(plan, series=series_price(plan))


def test_one_more_by_hand():
    """The next copy finds TPU on: 8 g more are purged, x 0.025 = 0.20; it is a change either way."""
    plan = plan_by_hand()
    # PLA 500 + 20 purged, energy 36 + 2, wear 242, servos 2 x 1380, person 1500, reprints
    first = 500 + 20 + 36 + 2 + 242 + 2 * 1380 + 1500 + plan.cost.totals_minor["expected reprints"]
    assert plan.cost.total_minor == first
    series = series_price(plan)
    assert series is not None
    purged = next(line for line in series.lines if line.what == "PLA, purged")
    assert (purged.quantity, purged.amount_minor) == (Decimal("16.0"), 40)
    assert series.one_more_minor == first + 20
    assert series.busiest == "large"


def test_rows_by_hand():
    """Twenty: the first and nineteen others to the cent; grams beyond the shelf in whole spools."""
    plan = priced()
    assert plan.series is not None
    row = {row.copies: row for row in plan.series.rows}[20]
    total = plan.cost.total_minor + 19 * (plan.cost.total_minor + 20)
    assert row.total_minor == total
    assert row.each_minor == divided(total, 20)
    # PLA: 208 g + 19 x 216 g = 4312 g, 150 g on the shelf: 4162 g of 5 spools; TPU: 600 g of 2 x 500 g
    assert (row.spools, row.left_g) == (5 + 2, pytest.approx(838.0 + 400.0))
    assert row.left_minor == 2095  # 838 g x 0.025; TPU has no price
    assert row.whole_each_minor == divided(total + 2095, 20)
    assert row.print_hours == row.busiest_hours == pytest.approx(20 * 12.1)
    assert row.lost_hours == pytest.approx(20 * (hours_lost(10.1, 0.002) + hours_lost(2.0, 0.002)))
    assert row.person_minutes == 20 * 30


def test_the_first_copy_buys_what_the_plan_buys():
    """One copy: 942 g of PLA and 470 g of TPU are left on two new spools, whatever the shelf holds."""
    plan = priced()
    assert plan.series is not None
    row = plan.series.rows[0]
    assert (row.copies, row.total_minor, row.spools) == (1, plan.cost.total_minor, 2)
    assert (row.left_g, row.left_minor) == (pytest.approx(1412.0), 2355)


def test_what_was_on_the_printer_counts_for_the_first_only():
    """PLA on: no change at first, then one a copy. TPU on: one each time. Bed 1 alone: none."""
    runs = timetable().runs
    shop = replace(SHOP, printers=(replace(PRINTER, loaded="PLA"),))
    assert seam_of(shop, BEDS, runs) == Seam({"PLA": 8.0}, 10)
    shop = replace(SHOP, printers=(replace(PRINTER, loaded="TPU"),))
    assert seam_of(shop, BEDS, runs) == Seam({}, 0)
    assert seam_of(shop, BEDS, runs[:1]) == Seam({"PLA": -8.0}, -10)
    assert seam_of(SHOP, BEDS, runs[:1]) == Seam({}, -10)  # nothing on: put on, and nothing to purge


def test_another_nozzle_is_put_back_before_the_next():
    """Bed 2 leaves the wide nozzle on: 12 minutes before each further copy that begins with the other."""
    printer = replace(PRINTER, loaded="PLA", nozzle_minutes=12, nozzles=("0.6",))
    beds = (BEDS[0], replace(BEDS[1], filament="PLA", fit=Fit(0.6)))
    assert seam_of(replace(SHOP, printers=(printer,)), beds, timetable().runs) == Seam({}, 12)


def test_no_series_of_what_is_no_whole_airframe_planned_anew():
    """Nothing printed, pieces that fit nowhere: no price of a series."""
    plan = plan_by_hand()
    assert series_price(replace(plan, schedule=replace(plan.schedule, runs=()))) is None
    assert series_price(replace(plan, airframe=replace(plan.airframe, members=(plan.airframe,)))) is None


def test_halves_are_rounded_up():
    """5 cents for two are 3 each, 7 for five are 1."""
    assert [divided(5, 2), divided(7, 5), divided(0, 50)] == [3, 1, 0]
