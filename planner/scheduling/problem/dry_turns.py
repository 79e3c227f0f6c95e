"""Who is dried, and prints, first: turns of printers at a filament, and filaments that go away for good."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from planner.model.away import Away, joined
from planner.model.batch import Batch
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import at_minute, zone_of
from planner.scheduling.problem.dry_printers import without_filament
from planner.scheduling.problem.dry_spans import Asked, Stretch


def fewest_printers(batches: Iterable[Batch], name: str, workshop: Workshop) -> tuple[str, ...]:
    """Few printers that print all of these beds of one filament; empty where one bed has none.

    Each time the one that prints most of what is left, rather one that is never away, rather an early one.
    Source: the greedy cover (Chvatal 1979, from memory).
    """
    left = [batch for batch in batches if batch.filament == name]
    found: list[str] = []
    there = [p for p in workshop.printers if all(one.until is not None for one in p.away)]
    while left:
        able = [[b for b in left if _prints(p, b, workshop)] for p in there]
        most = max(range(len(there)), key=lambda n: (len(able[n]), -len(there[n].away)), default=-1)
        if most < 0 or not able[most]:
            return ()
        found.append(there[most].name)
        left = [batch for batch in left if batch not in able[most]]
    return tuple(found)


def _left_out(printer: Printer, name: str, workshop: Workshop, start: datetime) -> Printer:
    """The printer without a filament; away for good where that is the only one that it may run."""
    rest = without_filament(printer, name, workshop)
    if not workshop.can_run(rest, workshop.filament(name)):
        return rest
    zone = zone_of(workshop.attendance, start)
    return replace(printer, away=joined(printer.away, [Away(start)], zone))


def _prints(printer: Printer, batch: Batch, workshop: Workshop) -> bool:
    filament = workshop.filament(batch.filament)
    return printer.kind == batch.printer_kind and workshop.can_run(printer, filament, batch.fit)


def due_first(asked: Asked, workshop: Workshop, start: datetime) -> Asked:
    """The same; first into the dryers go filaments that, or a printer of which, soonest go away for good."""

    def due(name: str) -> float:
        filament = workshop.filament(name)
        able = [printer for printer in workshop.printers if workshop.can_run(printer, filament)]
        zone = zone_of(workshop.attendance, start)
        away = [*filament.away, *(one for printer in able for one in printer.away)]
        gone = [one.span(zone)[0] for one in away if one.until is None]
        return min((moment.timestamp() for moment in gone), default=math.inf)

    return replace(asked, rooms={name: asked.rooms[name] for name in sorted(asked.rooms, key=due)})


def in_turns(
    workshop: Workshop,
    turns: Mapping[str, Sequence[str]],
    stretches: Mapping[str, Sequence[Stretch]],
    start: datetime,
) -> Workshop:
    """The workshop in which only the named printers print a filament, each in a dry stretch of its own.

    A printer whose turn it is not prints nothing meanwhile, not even another filament.
    """
    zone = zone_of(workshop.attendance, start)
    for name, printers in turns.items():
        made = []
        for printer in workshop.printers:
            if printer.name not in printers:
                made.append(_left_out(printer, name, workshop, start))
                continue
            place = printers.index(printer.name)
            gone = [
                Away(at_minute(start, one.since, zone), at_minute(start, one.until, zone))
                for n, one in enumerate(stretches.get(name, ()))
                if n % len(printers) != place
            ]
            made.append(replace(printer, away=joined(printer.away, gone, zone)) if gone else printer)
        workshop = replace(workshop, printers=tuple(made))
    return workshop
