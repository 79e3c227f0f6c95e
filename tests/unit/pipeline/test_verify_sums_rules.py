"""Every rule of the checks of mass, glue, balance, cost and minutes: sound sums, broken in just that way."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from types import SimpleNamespace

import numpy as np
import pytest

from planner.model.airframe import Finish
from planner.model.budget import Balance, Cost, CostLine, Mass, MassItem
from planner.model.filament import Filament
from planner.model.printer import Motion, Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.pipeline.verify_minutes import minutes_faults
from planner.pipeline.verify_sums import (
    balance_faults,
    budget_faults,
    cost_faults,
    finish_faults,
    mass_faults,
)

HULL = MassItem("hull", "printed", "body", 80.0, 10.0)
WING = MassItem("wing", "printed", "wing", 120.0, 60.0)
PACK = MassItem("pack", "fitting", "", 50.0, None)
GLUE = MassItem("glue, body", "finish", "body", 2.0, 10.0, finish="glue")
GLUE_2 = MassItem("glue, wing", "finish", "wing", 3.0, 60.0, finish="glue")
PAINT = MassItem("primer and paint, wing", "finish", "wing", 20.0, 60.0, finish="primer and paint")
MASS = Mass((HULL, WING, PACK, GLUE, GLUE_2, PAINT), 200.0, 50.0, 25.0, 275.0, 260.0, 290.0, None)
# (80 x 10 + 120 x 60 + 2 x 10 + 23 x 60) / 225 = 9400 / 225
BALANCE = Balance(9400.0 / 225.0, (40.0, 45.0), True, 225.0, ("pack",), 50.0)


def items(*changed: MassItem) -> Mass:
    """The sound mass with some lines otherwise, by name."""
    new = {item.what: item for item in changed}
    return replace(MASS, items=tuple(new.get(item.what, item) for item in MASS.items))


@pytest.mark.parametrize(
    ("mass", "words"),
    [
        (MASS, []),
        (replace(MASS, total_g=275.0 + 9e-7), []),
        (
            replace(MASS, total_g=275.0 + 2e-6),
            ["Total mass: 275.000002 g is told, the items add up to 275.0 g."],
        ),
        (
            replace(MASS, printed_g=200.1),
            ["Mass of kind printed: 200.1 g is told, the items add up to 200.0 g."],
        ),
        (replace(MASS, fittings_g=0.0), ["Mass of kind fitting: 0.0 g is told, the items add up to 50.0 g."]),
        (replace(MASS, finish_g=26.0), ["Mass of kind finish: 26.0 g is told, the items add up to 25.0 g."]),
        (replace(MASS, low_g=276.0), ["Total mass 275.0 g lies outside its range 276.0 to 290.0 g."]),
        (replace(MASS, high_g=274.0), ["Total mass 275.0 g lies outside its range 260.0 to 274.0 g."]),
        (replace(MASS, low_g=275.0, high_g=275.0), []),
        (
            items(replace(PACK, kind="lead")),
            [
                "Mass of kind fitting: 50.0 g is told, the items add up to 0.0 g.",
                "Mass items of kind lead belong to no total.",
            ],
        ),
        (
            replace(items(replace(PACK, mass_g=-50.0)), fittings_g=-50.0, total_g=175.0, low_g=170.0),
            ["pack has a negative mass."],
        ),
    ],
)
def test_rules_of_mass(mass, words):
    """Kinds make their totals, totals the whole, and the range holds it."""
    assert list(mass_faults(mass)) == words


TOLD = Finish(paint_g=20.0, painted=("wing",))


@pytest.mark.parametrize(
    ("finish", "mass", "words"),
    [
        (TOLD, MASS, []),  # glue by the rule: 2.5 % of 200 g are 5
        (replace(TOLD, glue_g=5.0), MASS, []),
        (replace(TOLD, glue_g=6.0), MASS, ["glue: the sections add up to 5.0 g instead of 6.0 g."]),
        (
            replace(TOLD, paint_g=21.0),
            MASS,
            ["primer and paint: the sections add up to 20.0 g instead of 21.0 g."],
        ),
        (TOLD, items(replace(GLUE, mass_g=2.5)), ["glue: the sections add up to 5.5 g instead of 5.0 g."]),
        (replace(TOLD, glue_g_per_cm2=0.1), items(replace(GLUE, mass_g=2.5)), []),  # by area: no total
        (replace(TOLD, painted=("body",)), MASS, ["primer and paint, wing: wing is not painted."]),
        (
            replace(TOLD, painted=("body",)),
            replace(MASS, items=(*MASS.items[:5], replace(PAINT, section="", what="primer and paint"))),
            ["primer and paint: no section is not painted."],
        ),
        (replace(TOLD, painted=("boat",)), MASS, []),  # nothing of it is printed: it must lie somewhere
        (replace(TOLD, painted=()), MASS, []),
        (
            replace(TOLD, station_mm=60.0),
            MASS,
            ["glue, body is not at the station that is given for it."],
        ),
        (
            TOLD,
            replace(MASS, items=(*MASS.items[:4], replace(GLUE_2, what="glue, body"), PAINT)),
            ["glue, body is told of glue, wing.", "Two lines of glue or paint have one name."],
        ),
    ],
)
def test_rules_of_glue_and_paint(finish, mass, words):
    """What was asked for is there, where it may be, under names of its own."""
    assert list(finish_faults(finish, mass)) == words


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({}, []),
        ({"placed_g": 224.0}, ["Placed and unplaced make 274.0 g of a total of 275.0 g."]),
        ({"unplaced_g": 51.0}, ["Placed and unplaced make 276.0 g of a total of 275.0 g."]),
        (
            {"station_mm": None, "inside": None},
            ["A balance is told without placed mass, or none although there is some."],
        ),
        ({"station_mm": 42.0}, ["About station 42.0 mm a moment of -50.0 g mm is left."]),
        ({"station_mm": 9400.0 / 225.0 + 5e-7}, []),
        ({"inside": False}, ["Inside the window is told as False for 41.77777777777778 mm."]),
        ({"inside": None}, ["Inside the window is told as None for 41.77777777777778 mm."]),
        ({"window_mm": (42.0, 45.0)}, ["Inside the window is told as True for 41.77777777777778 mm."]),
        ({"window_mm": (40.0, 41.0), "inside": False}, []),
        ({"window_mm": (9400.0 / 225.0, 50.0)}, []),
        ({"window_mm": None, "inside": None}, []),
    ],
)
def test_rules_of_balance(changes, words):
    """Nothing is lost, moments cancel about the station, and the verdict is right."""
    assert list(balance_faults(MASS, replace(BALANCE, **changes))) == words


def test_a_balance_of_nothing():
    """Without anything that has a place there is no station, and telling one is a fault."""
    none = replace(MASS, items=tuple(replace(item, station_mm=None) for item in MASS.items))
    told = replace(BALANCE, placed_g=0.0, unplaced_g=275.0, window_mm=None, inside=None)
    assert balance_faults(none, replace(told, station_mm=None)) == ()
    assert balance_faults(none, told) == (
        "A balance is told without placed mass, or none although there is some.",
    )


LINES = (
    CostLine("PLA", Decimal("200.0"), "g", Decimal("0.025"), 500, "filament", "list"),
    CostLine("PETG", Decimal("10.0"), "g", Decimal("0.0333"), 33, "filament", "list"),
    CostLine("energy", Decimal("1.190"), "kWh", Decimal("0.3"), 36, "energy", "power"),
    CostLine("motor", Decimal(1), "piece", None, None, "fittings", "none"),
    CostLine("spool", Decimal(2), "spool", Decimal(25), 5000, "buy", "apart", in_total=False),
    CostLine("spool 2", Decimal(2), "spool", None, None, "buy", "apart", in_total=False),
)
COST = Cost("EUR", LINES, {"filament": 533, "energy": 36}, 569, ("motor",), {"buy": 5000})


def line(at: int, **changes: object) -> Cost:
    lines = list(LINES)
    lines[at] = replace(lines[at], **changes)
    return replace(COST, lines=tuple(lines))


@pytest.mark.parametrize(
    ("cost", "words"),
    [
        (COST, []),
        (line(3, unit_price=Decimal(1)), ["motor: a price without an amount, or an amount without a price."]),
        (
            replace(
                line(0, unit_price=None, amount_minor=0),
                totals_minor={"filament": 33, "energy": 36},
                total_minor=69,
            ),
            ["PLA: a price without an amount, or an amount without a price."],
        ),
        (
            replace(line(2, amount_minor=35), totals_minor={"filament": 533, "energy": 35}, total_minor=568),
            ["energy: 1.190 x 0.3 is not 35."],  # 0.357
        ),
        (
            replace(COST, currency="KWD"),
            [
                f"{n}: {q} x {p} is not {a}."
                for n, q, p, a in (
                    ("PLA", "200.0", "0.025", 500),
                    ("PETG", "10.0", "0.0333", 33),
                    ("energy", "1.190", "0.3", 36),
                    ("spool", "2", "25", 5000),
                )
            ],
        ),
        (
            replace(COST, totals_minor={"filament": 534, "energy": 36}),
            [
                "Totals by kind are told as {'filament': 534, 'energy': 36}, the lines add up to"
                " {'filament': 533, 'energy': 36}."
            ],
        ),
        (
            replace(COST, apart_minor={}),
            ["Totals by kind are told as {}, the lines add up to {'buy': 5000}."],
        ),
        (
            replace(COST, total_minor=5569),
            ["The total is told as 5569, the lines add up to 569 minor units."],
        ),
        (replace(COST, left_out=()), ["The lines without a price are not those that are named as left out."]),
        (
            replace(COST, left_out=("motor", "spool 2")),
            ["The lines without a price are not those that are named as left out."],
        ),
    ],
)
def test_rules_of_cost(cost, words):
    """Each line, each kind and the total to the last cent."""
    assert list(cost_faults(cost)) == words


def test_all_sums_are_looked_at():
    """Mass, balance and cost each by its own fault."""
    assert budget_faults(MASS, BALANCE, COST) == ()
    wrong = budget_faults(
        replace(MASS, low_g=276.0), replace(BALANCE, inside=False), replace(COST, left_out=())
    )
    assert [text.split()[0] for text in wrong] == ["Total", "Inside", "The"]


# --- minutes: two pieces of two and three layers; a hop of 40 mm at 100 mm/s and 1000 mm/s2 takes 0.5 s
MOTION = Motion(
    travel_speed=100.0, travel_acceleration=1000.0, retract_s=0.2, layer_change_s=1.0, least_layer_s=5.0
)
DESK = Printer("one", "desk", motion=MOTION, heat_up_minutes=6.0)
PIECES = ("low", "tall")


def plan(
    printer: Printer = DESK,
    minutes: float = 0.0,
    *,
    foaming: bool = False,
    spiral: bool = False,
    placed=PIECES,
):
    """Only what the check of minutes reads; both pieces stand on 36 x 36 mm, 4 mm apart."""
    seconds = {"low": [31.0, 21.0], "tall": [61.0, 3.0, 2.0]}
    recipes = {"low": Recipe("plain"), "tall": Recipe("thin", spiral=spiral)}
    filament = Filament("PLA", "PLA", 1.24, 1.0, foaming=foaming)
    bed = SimpleNamespace(
        name="bed 1",
        printer_kind="desk",
        filament="PLA",
        minutes=minutes,
        placed=[SimpleNamespace(piece=name) for name in placed],
    )
    return SimpleNamespace(
        pieces=[SimpleNamespace(name=n, part=n) for n in PIECES],
        parts=[SimpleNamespace(name=n, recipe=recipes[n]) for n in PIECES],
        deposits={
            n: SimpleNamespace(seconds={"desk": np.array(s)}, extents_mm=(36.0, 36.0, 9.0))
            for n, s in seconds.items()
        },
        batches=[bed],
        workshop=Workshop((printer,), (filament,), clearance_mm=4.0),
        taught=None,
    )


# together: 30 + 60 + (0.5 + 0.2) + 1 = 91.7; 20 + 2 + 0.7 + 1 = 23.7; the third one is alone: 2, at least 5
TOGETHER = 91.7 + 23.7 + 5.0
# one at a time: 31 + 21, then 61 + 5 + 5 (3 and 2 are too short), and the way between them
ALONE = 52.0 + 71.0 + 0.7
ONE_BY_ONE = replace(DESK, one_at_a_time=True, head_radius_mm=9.0, head_height_mm=9.0, gantry_height_mm=9.0)


@pytest.mark.parametrize(
    ("printer", "more", "seconds"),
    [
        (DESK, {}, TOGETHER),
        (DESK, {"foaming": True}, TOGETHER - 2 * 0.2),  # foam is not drawn back
        # a spiral changes no layer: 61 + 30 + ..., 3 + 20 + ...
        (DESK, {"spiral": True}, TOGETHER + 2.0),
        (DESK, {"placed": ("low",)}, 52.0),
        (ONE_BY_ONE, {}, ALONE),
        (replace(DESK, minutes_factor=1.5), {}, 1.5 * TOGETHER),
    ],
)
def test_minutes_of_a_bed_by_hand(printer, more, seconds):
    """Heating up, and every layer of every piece; a hundredth of a minute is rounding, two are not."""
    told = 6.0 + seconds / 60.0
    assert list(minutes_faults(plan(printer, told, **more), frozenset())) == []
    assert list(minutes_faults(plan(printer, told + 0.01, **more), frozenset())) == []
    for off in (0.02, -0.02):
        found = list(minutes_faults(plan(printer, told + off, **more), frozenset()))
        assert found == [f"bed 1: {told + off:.2f} minutes are told, its layers take {told:.2f}"]


def test_beds_whose_minutes_nobody_can_check():
    """One that had begun before, one with a piece of before, and one of a printer that is gone."""
    assert list(minutes_faults(plan(minutes=99.0), frozenset({"bed 1"}))) == []
    assert list(minutes_faults(plan(minutes=99.0, placed=("low", "old")), frozenset())) == []
    assert list(minutes_faults(plan(replace(DESK, kind="other"), 99.0), frozenset())) == []


@pytest.mark.parametrize(("way", "seconds"), [(2.5, 0.1), (10.0, 0.2), (40.0, 0.5)])
def test_ways_between_pieces_by_hand(way, seconds):
    """Up to 10 mm it never gets to 100 mm/s: 2 sqrt(d / a); beyond that v / a + d / v."""
    side = way - 1.0
    wanted = 52.0 + 71.0 + seconds + 0.2
    narrow = plan(ONE_BY_ONE, 6.0 + wanted / 60.0)
    narrow.workshop = replace(narrow.workshop, clearance_mm=1.0)
    for deposit in narrow.deposits.values():
        deposit.extents_mm = (side, side, 9.0)
    assert list(minutes_faults(narrow, frozenset())) == []
    narrow.batches[0].minutes += 0.02
    assert len(list(minutes_faults(narrow, frozenset()))) == 1
