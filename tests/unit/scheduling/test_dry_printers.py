"""Fewer printers for a filament: which stay."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from planner.model.away import Away
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.problem.dry_printers import with_few

NYLON = Filament("PA", "PA", 1.14, 1.14)
PLAIN = Filament("PLA", "PLA", 1.24, 1.24)
SHOP = Workshop(
    (
        Printer("one", "desk", filaments=("PA", "PLA")),
        Printer("two", "desk", filaments=("PA", "PLA"), loaded="PA"),
        Printer("tall", "tall", filaments=("PLA", "PA")),
    ),
    (NYLON, PLAIN),
)


def able(shop: Workshop) -> list[str]:
    """Printers that may still run nylon."""
    return [printer.name for printer in shop.printers if shop.can_run(printer, NYLON)]


def test_of_each_kind_one_stays_the_one_that_has_it_on() -> None:
    """What else the others print, they go on printing."""
    few = with_few(SHOP, {"PA": 1})
    assert able(few) == ["two", "tall"]
    assert few.printers[0].filaments == ("PLA",)
    assert able(with_few(SHOP, {"PA": 3})) == ["one", "two", "tall"]
    assert with_few(SHOP, {}) == SHOP


def test_a_printer_that_is_away_or_has_other_plates_stands_for_no_other() -> None:
    """So that no bed is left without one; nor is a printer left with nothing to print."""
    first, second, tall = SHOP.printers
    rough = replace(SHOP, printers=(first, replace(second, plate="smooth", plates=("rough",)), tall))
    assert able(with_few(rough, {"PA": 1})) == ["one", "two", "tall"]
    gone = replace(SHOP, printers=(first, replace(second, away=(Away(date(2026, 1, 1)),)), tall))
    assert able(with_few(gone, {"PA": 1})) == ["one", "tall"]
    alone = replace(
        SHOP, filaments=(NYLON,), printers=tuple(replace(p, filaments=("PA",)) for p in (first, second))
    )
    assert able(with_few(alone, {"PA": 1})) == ["one", "two"]
