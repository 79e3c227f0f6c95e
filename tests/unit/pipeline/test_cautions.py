"""Cautions: those that always apply, and those of this airframe only."""

from __future__ import annotations

from datetime import time

from planner.model.airframe import Fitting
from planner.model.attendance import Attendance, WeeklyWindow
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.pipeline.cautions import cautions
from tests.unit.weights.samples import airframe

PLA = Filament("PLA", "polylactic acid", 1.24, 1.24)
ASA = Filament("ASA", "acrylonitrile styrene acrylate", 1.07, 1.07, nozzle_c=250.0)
SHOP = Workshop((Printer("a", "a"),), (PLA, ASA))
EVENINGS = Workshop(
    (Printer("a", "a"),), (PLA,), attendance=Attendance((WeeklyWindow((0,), time(18), time(22)),))
)


def text(filaments=(PLA,), shop=SHOP, *fittings: Fitting) -> str:
    return "\n".join(cautions(filaments, shop, airframe(fittings=fittings)))


def test_the_ones_that_always_apply():
    """Fire, fumes, blades, glue, flight rules and the limits of the plan are in every report."""
    said = text()
    for word in ("fire", "Fumes", "blades", "Glue", "Flying", "no proof of airworthiness"):
        assert word in said
    assert "follow local rules and licensed practice" in said
    assert cautions((PLA,), SHOP, airframe())[-1].startswith("Planning figures")


def test_the_ones_that_depend_on_the_airframe():
    """Battery, propeller and insert lines come with such fittings, by kind or by name."""
    assert "Lithium" not in text()
    assert "Lithium" in text((PLA,), SHOP, Fitting("pack 4S", 500.0))
    assert "Propeller" in text((PLA,), SHOP, Fitting("folding blades", 20.0, kind="propeller"))
    assert "hot iron" in text((PLA,), SHOP, Fitting("M3 insert", 0.5, count=8))
    assert "dust" in text((PLA,), SHOP, Fitting("carbon tube 6 x 4", 20.0))


def test_the_ones_that_depend_on_the_filament():
    """ASA is named for its vapour and its heat; PLA is not."""
    assert "ASA: more vapour" in text((PLA, ASA))
    assert "ASA: printed at 250" in text((PLA, ASA))
    assert "more vapour than" not in text((PLA,))


def test_beds_that_print_alone():
    """With hours of attendance beds may run alone, and the report says whose decision that is."""
    assert "while nobody is there" in text((PLA,), EVENINGS)
    assert "while nobody is there" not in text()


def test_no_placeholder_is_left():
    """Names are filled in everywhere."""
    assert "{" not in text((PLA, ASA), EVENINGS, Fitting("carbon tube", 1.0), Fitting("motor", 1.0))
