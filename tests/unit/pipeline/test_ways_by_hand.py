"""What one piece asks of the machines, in minutes and in money."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from types import SimpleNamespace

import numpy as np
import pytest

from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.pipeline.ways import _recipes, asks

PLA = Filament("PLA", "PLA", 1.24, 1.24, spool_g=500.0, price_minor=1500)
SOFT = Filament("TPU", "TPU", 1.21, 1.21, flexible=True)
A = Printer("a", "slow", print_watts=100.0, wear_minor_per_hour=20)
B = Printer("b", "fast", print_watts=200.0, minutes_factor=2.0)
SHOP = Workshop((A, B), (PLA, SOFT), energy_price_per_kwh=Decimal("0.40"))
DEPOSIT = SimpleNamespace(
    mass_g=50.0, seconds={"slow": np.array([3000.0, 4200.0]), "fast": np.array([1800.0, 1800.0])}
)
RIB = Part("rib", "rib.stl", "wing", Recipe("plain"), "PLA")


@pytest.mark.parametrize(
    ("shop", "minutes", "minor"),
    [
        # 2 h on a; on b an hour, twice as long: 2 h. 150 W x 2 h x 0.40 = 12, wear 10 an hour: 20; PLA 150
        (SHOP, 120.0, 182),
        (replace(SHOP, energy_price_per_kwh=None), 120.0, 170),
        (replace(SHOP, currency="KWD"), 120.0, 290),  # thousandths: 120 for the energy
        (replace(SHOP, printers=(A,)), 120.0, 150 + 8 + 40),
        (replace(SHOP, filaments=(replace(PLA, price_minor=None), SOFT)), 120.0, 32),
        (replace(SHOP, printers=(A, replace(B, filaments=("TPU",)))), 120.0, 198),  # only a may run it
        # no printer may: the mean over those for which it was estimated
        (
            replace(SHOP, printers=(replace(A, filaments=("TPU",)), replace(B, filaments=("TPU",)))),
            120.0,
            182,
        ),
    ],
)
def test_minutes_and_money_of_a_piece(shop, minutes, minor):
    """The mean over the printers that may run it, worked by hand."""
    assert asks(SimpleNamespace(workshop=shop), RIB, DEPOSIT) == (pytest.approx(minutes), minor)


def test_factors_count_in_the_mean():
    """2 h on a, and 4 h on b where it takes four times as long: 3 h."""
    shop = replace(SHOP, printers=(A, replace(B, minutes_factor=4.0)), energy_price_per_kwh=None)
    assert asks(SimpleNamespace(workshop=shop), RIB, DEPOSIT) == (pytest.approx(180.0), 180)


def test_recipes_that_a_part_may_borrow():
    """Flexible parts stay among their own; firm ones take all that no flexible part alone has."""
    recipes = {name: Recipe(name) for name in ("plain", "skin", "tyre", "both", "spare")}
    firm = replace(RIB, name="f", recipe=recipes["both"])
    soft = [replace(RIB, name=n, filament="TPU", recipe=recipes[n]) for n in ("tyre", "both")]
    plane = SimpleNamespace(parts=(RIB, firm, *soft))
    job = SimpleNamespace(workshop=SHOP, airframe=plane, recipes=recipes)
    assert set(_recipes(job, RIB)) == {"plain", "skin", "both", "spare"}
    assert set(_recipes(job, soft[0])) == {"tyre", "both"}
    assert set(_recipes(job, replace(soft[0], allowed_recipes=("skin",)))) == {"tyre", "both", "skin"}
