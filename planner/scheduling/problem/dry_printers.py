"""Fewer printers for a filament, where its dryer does not dry spools for all of them in time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planner.model.printer import Printer
from planner.model.workshop import Workshop


def with_few(workshop: Workshop, most: Mapping[str, int]) -> Workshop:
    """The workshop with so many printers for each filament; every bed that had one still has one.

    A printer stays where no other that stays is of its kind with its nozzles and plates: there may be more of
    them than asked for.
    """
    for name, count in most.items():
        filament = workshop.filament(name)
        able = [printer for printer in workshop.printers if workshop.can_run(printer, filament)]
        able.sort(key=lambda printer: (len(printer.away), printer.loaded != name))
        stay: list[Printer] = []
        for printer in able:
            if not any(_alike(printer, other) for other in stay):
                stay.append(printer)
        stay += [printer for printer in able if printer not in stay][: max(0, count - len(stay))]
        gone = [printer.name for printer in able if printer not in stay]
        printers = [
            without_filament(one, name, workshop) if one.name in gone else one for one in workshop.printers
        ]
        workshop = replace(workshop, printers=tuple(printers))
    return workshop


def _alike(one: Printer, other: Printer) -> bool:
    """Whether whatever the one prints, the other does too, and is there as long."""

    def tools(printer: Printer) -> tuple[object, ...]:
        plates = (printer.plate, printer.plates)
        return (printer.kind, printer.nozzle_mm, printer.nozzle_hardened, printer.nozzles, *plates)

    return tools(one) == tools(other) and (not other.away or other.away == one.away)


def without_filament(printer: Printer, name: str, workshop: Workshop) -> Printer:
    """The printer without a filament; as it is where that is the only one that it may run."""
    rest = tuple(f.name for f in workshop.filaments if f.name != name and workshop.can_run(printer, f))
    return replace(printer, filaments=rest) if rest else printer
