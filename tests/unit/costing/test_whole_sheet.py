"""A whole cost sheet, line by line: every figure by hand, in a currency of three digits."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from planner.costing.cost import cost_sheet
from planner.model.airframe import Finish, Fitting
from planner.model.batch import Batch
from planner.model.budget import Mass, MassItem
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.schedule import Run, Schedule, SpoolUse, Visit
from planner.model.workshop import Workshop
from planner.pipeline.verify_sums import cost_faults
from tests.unit.weights.samples import airframe

START = datetime(2026, 12, 1, 18, tzinfo=UTC)
LARGE = Printer(
    "large", "large 300", heat_up_minutes=6.0, print_watts=100.0, heat_up_watts=250.0, wear_minor_per_hour=20
)
SMALL = Printer("small", "small 180", heat_up_minutes=0.0, print_watts=50.0, heat_up_watts=0.0)
SHOP = Workshop(
    (LARGE, SMALL),
    (
        Filament("PLA", "polylactic acid", 1.24, 1.24, price_minor=12500, source="list"),
        Filament("TPU", "polyurethane", 1.21, 1.21, spool_g=500.0),
        Filament("ABS", "styrene", 1.04, 1.04, spool_g=500.0),
        Filament("PETG", "polyester", 1.27, 1.27, price_minor=20000, source="list"),
    ),
    currency="KWD",
    energy_price_per_kwh=Decimal("0.300"),
    person_price_per_hour=Decimal("3.000"),
    failure_per_hour=0.02,
)
# bed, printer, kind, filament, grams, minutes; the first one is over before it began
RUNS = (
    ("bed 0", "small", "small 180", "TPU", 7.0, 0),
    ("bed 1", "large", "large 300", "PLA", 200.0, 606),
    ("bed 2", "small", "small 180", "TPU", 30.0, 120),
    ("bed 3", "large", "large 300", "PLA", 20.0, 60),
    ("bed 4", "lost", "large 300", "ABS", 10.0, 120),  # a printer that is no more: as its like
    ("bed 5", "gone", "gone 99", "PETG", 40.0, 60),  # none of its kind is left
)
SPOOLS = (
    SpoolUse("1", "PLA", False, 150.0, 100.0, 0.6, 49.4, 11000),
    SpoolUse("2", "PLA", True, 1000.0, 120.0, 8.0, 872.0, None),
    SpoolUse("3", "PLA", True, 1000.0, 0.0, 0.4, 999.6, None),
    SpoolUse("4", "PLA", True, 1000.0, 0.0, 0.0, 1000.0, 9000),
    SpoolUse("5", "TPU", True, 500.0, 30.0, 0.0, 470.0, None),
    SpoolUse("6", "ABS", False, 500.0, 10.0, 0.0, 490.0, 10000),
    SpoolUse("7", "ABS", False, 500.0, 0.0, 0.0, 500.0, 20000),
)
PLANE = airframe(
    fittings=(
        Fitting("servo", 9.0, count=2, price_minor=690),
        Fitting("skid", 9.0, price_minor=90, option=("gear", "skid")),
        Fitting("wheel", 9.0, price_minor=150, option=("gear", "wheels")),
        Fitting("spare", 9.0, count=0, price_minor=150),
        Fitting("motor", 50.0),
    ),
    options={"gear": "wheels"},
    choices={"gear": ("skid", "wheels")},
)


def glue(what: str, grams: float, finish: str) -> MassItem:
    return MassItem(what, "finish", "body", grams, None, finish=finish)


ITEMS = (
    glue("glue, nose", 3.0, "glue"),
    glue("glue, tail", 1.5, "glue"),
    glue("tape", 2.0, ""),
    MassItem("nose 1", "printed", "body", 100.0, None),
)
MASS = Mass(ITEMS, 100.0, 0.0, 6.5, 106.5, 100.0, 110.0, None)


def schedule(minutes: tuple[int, ...] = (10, 20)) -> Schedule:
    runs = tuple(
        Run(f"run {name}", name, printer, START, START + timedelta(minutes=took), True, (), 0.0)
        for name, printer, _, _, _, took in RUNS
    )
    visits = tuple(Visit(START + timedelta(days=n), took, ()) for n, took in enumerate(minutes))
    return Schedule(runs, visits, START, 1.0, {}, None, None, len(visits), 0)


def sheet(shop: Workshop = SHOP, plane=PLANE, minutes: tuple[int, ...] = (10, 20), spools=SPOOLS):
    beds = [Batch(n, kind, f, 0.2, (), float(took), g, 50.0, 0.4) for n, _, kind, f, g, took in RUNS]
    return cost_sheet(plane, shop, MASS, beds, schedule(minutes), spools)


# what, quantity, unit, price of one, amount in thousandths, kind, source
FILAMENTS = [
    # two spools on the shelf, 10 and 20: 15 a spool, of 500 g: 0.03 a gram
    ("ABS", "10.0", "g", "0.03", 300, "filament", "spools on the shelf, 500 g each"),
    # of no spool in use: the grams of its bed, 20 / 1000 g
    ("PETG", "40.0", "g", "0.02", 800, "filament", "spool of 1000 g at 20.000 (list)"),
    # 100 + 120 of the spools at 12.5 / 1000 g, then 0.6 + 8 + 0.4
    ("PLA", "220.0", "g", "0.0125", 2750, "filament", "spool of 1000 g at 12.500 (list)"),
    ("PLA, purged", "9.0", "g", "0.0125", 113, "filament", "spool of 1000 g at 12.500 (list)"),
    ("TPU", "30.0", "g", None, None, "filament", "no price given"),
]
POWER = "power of each printer x its hours"
MACHINES = [
    # 10.0 h, 0.9 h and (like the lost one) 1.9 h at 100 W, 2 h at 50 W: 1.0 + 0.09 + 0.19 + 0.1
    ("energy, printing", "1.380", "kWh", "0.3", 414, "energy", POWER),
    # three times 0.1 h at 250 W: 0.075 x 0.3 = 0.0225, half up
    ("energy, heating up", "0.075", "kWh", "0.3", 23, "energy", POWER),
    ("wear of large", "11.10", "h", "0.02", 222, "wear", "rate of the printer (given)"),
    ("wear of small", "2.00", "h", None, None, "wear", "no price given"),
]
REST = [
    ("servo", "2", "piece", "0.69", 1380, "fittings", "airframe file"),
    ("wheel", "1", "piece", "0.15", 150, "fittings", "airframe file"),
    ("motor", "1", "piece", None, None, "fittings", "no price given"),
    ("glue", "4.5", "g", None, None, "finish", "no price given"),
    ("tape", "2.0", "g", None, None, "finish", "no price given"),
]
# Lost hours at 0.02 an hour, (exp(0.02 h) - 1) / 0.02 - h: 1.0924 of 10.1, 0.04054 of 2, 0.010067 of 1.
# Shares of the run: 0.10816, 0.02027, 0.010067.
LOST = "0.02 failures per hour of printing (assumption)"
AGAIN = POWER + "; 0.02 failures per hour (assumption)"
REPRINTS = [
    ("ABS (reprints)", "0.2", "g", "0.03", 6, "expected reprints", LOST),  # 10 x 0.02027
    ("PETG (reprints)", "0.4", "g", "0.02", 8, "expected reprints", LOST),  # 40 x 0.010067
    ("PLA (reprints)", "21.8", "g", "0.0125", 273, "expected reprints", LOST),  # 200 x 0.10816 + 0.2013
    # 1.0 x 0.10816 + 0.09 x 0.010067 + 0.19 x 0.02027 + 0.1 x 0.02027 = 0.11494
    ("energy, printing (reprints)", "0.115", "kWh", "0.3", 35, "expected reprints", AGAIN),
    # 0.025 x (0.10816 + 0.010067 + 0.02027) = 0.003462
    ("energy, heating up (reprints)", "0.003", "kWh", "0.3", 1, "expected reprints", AGAIN),
    ("wear of large (reprints)", "1.10", "h", "0.02", 22, "expected reprints", "rate of the printer (given)"),
]
PERSON = [("person", "30", "min", "0.05", 1500, "person", "visits of the timetable at 3.000 an hour")]
APART = "apart: the total counts the grams used"
BUY = [
    ("spool of PLA, 1000 g", "1", "spool", "9", 9000, "spools to buy", APART),
    ("spool of PLA, 1000 g", "2", "spool", "12.5", 25000, "spools to buy", APART),
    ("spool of TPU, 500 g", "1", "spool", None, None, "spools to buy", "no price given"),
]


def rows(cost):
    return [
        (
            li.what,
            str(li.quantity),
            li.unit,
            None if li.unit_price is None else str(li.unit_price),
            li.amount_minor,
            li.kind,
            li.source,
        )
        for li in cost.lines
    ]


def test_every_line_of_a_whole_sheet():
    """All lines in their order, each with quantity, price, amount, kind and where its price is from."""
    assert rows(sheet()) == [*FILAMENTS, *MACHINES, *REST, *REPRINTS, *PERSON, *BUY]


def test_totals_of_the_whole_sheet():
    """The sums of the lines above by kind; what has no price is named, whole spools stand apart."""
    cost = sheet()
    assert cost.currency == "KWD"
    assert cost.totals_minor == {
        "filament": 3963,
        "energy": 437,
        "wear": 222,
        "fittings": 1530,
        "expected reprints": 345,
        "person": 1500,
    }
    assert cost.total_minor == 7997
    assert cost.apart_minor == {"spools to buy": 34000}
    assert cost.left_out == ("TPU", "wear of small", "motor", "glue", "tape")
    assert [line.in_total for line in cost.lines] == [True] * (len(cost.lines) - 3) + [False] * 3
    assert cost_faults(cost) == ()


def test_glue_at_a_price_is_one_lot():
    """A price for glue and paint stands in place of their grams."""
    plane = replace(PLANE, finish=Finish(price_minor=1250))
    wanted = ("glue, primer and paint", "1", "lot", "1.25", 1250, "finish", "airframe file")
    assert [row for row in rows(sheet(plane=plane)) if row[5] == "finish"] == [wanted]


@pytest.mark.parametrize(("minutes", "lines"), [((), 0), ((0,), 0), ((1,), 1)])
def test_a_person_who_does_nothing_has_no_line(minutes, lines):
    """One minute is 1 / 60 of 3: 0.05; none is no line."""
    found = [line for line in sheet(minutes=minutes).lines if line.kind == "person"]
    assert [(line.quantity, line.amount_minor) for line in found] == [(Decimal(1), 50)] * lines


def test_no_price_of_energy_is_told_as_such():
    """The source says that no price is given; the amount stays unknown."""
    shop = replace(SHOP, energy_price_per_kwh=None)
    found = [line for line in sheet(shop).lines if line.kind == "energy"]
    assert [line.source for line in found] == ["no price given"] * 2
    assert [line.amount_minor for line in found] == [None, None]


def test_spools_of_one_filament_are_sorted_by_price():
    """One without any price comes first, then the cheap one, then the dear one, however they came."""
    dear, cheap = SpoolUse("8", "TPU", True, 500.0, 0.0, 0.0, 500.0, 900), replace(SPOOLS[4], price_minor=1)
    found = sheet(spools=(dear, cheap, SPOOLS[4])).lines
    assert [line.amount_minor for line in found if line.kind == "spools to buy"] == [None, 1, 900]


def test_small_amounts_are_not_left_out():
    """Half a gram is a line; nothing is none."""
    spools = (SpoolUse("1", "PLA", False, 150.0, 0.5, 0.0, 149.5, None),)
    found = {row[0]: row[1] for row in rows(sheet(spools=spools))}
    assert found["PLA"] == "0.5"
    assert "PLA, purged" not in found
    assert found["TPU"] == "30.0"  # of its bed


def one_bed(minutes: int, shop: Workshop = SHOP) -> dict[str, str]:
    """What a single bed of PLA on the large printer takes, by line."""
    end = START + timedelta(minutes=minutes)
    run = Run("run 1", "bed 1", "large", START, end, True, (), 0.0)
    bed = Batch("bed 1", "large 300", "PLA", 0.2, (), float(minutes), 20.0, 50.0, 0.4)
    plan = Schedule((run,), (), end, 1.0, {}, None, None, 0, 0)
    return {row[0]: row[1] for row in rows(cost_sheet(airframe(), shop, MASS, [bed], plan, ()))}


def test_what_takes_nothing_has_no_line():
    """A bed that is over before the printer is hot: no printing; a printer that idles: no wear."""
    found = one_bed(3)
    assert found["energy, heating up"] == "0.013"  # 0.05 h x 250 W = 0.0125, half up
    assert found["wear of large"] == "0.05"
    assert "energy, printing" not in found
    assert "wear of small" not in found


def test_expected_reprints_that_do_not_show_have_no_line():
    """At 1e-6 failures an hour a bed of one hour loses 1e-5 g, which is 0.0."""
    found = one_bed(60, replace(SHOP, failure_per_hour=1e-6))
    assert not [what for what in found if what.endswith("(reprints)")]
