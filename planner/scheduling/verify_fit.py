"""Which nozzle and plate are on a printer, and how long changing them takes; for the checks alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.model.batch import Batch
from planner.model.fit import Fit
from planner.model.printer import Printer
from planner.model.schedule import Run

Pair = tuple[str, str]  # a nozzle and a plate in words


def on_now(printer: Printer) -> Pair:
    """What is on it when the plan begins."""
    nozzle, plate = printer.fitted
    return _nozzles(printer)[nozzle], [printer.plate, *printer.plates][plate]


def put_on(printer: Printer, asked: Fit) -> Pair | None:
    """What goes on for a bed: the first it has that does; ``None`` where it has none."""
    width = asked.nozzle_mm if asked.nozzle_mm is not None else printer.nozzle_mm
    nozzles = [
        one
        for one in _nozzles(printer)
        if float(one.split()[0]) == float(f"{width:g}") and (one.endswith("hardened") or not asked.hardened)
    ]
    plates = [one for one in (printer.plate, *printer.plates) if not asked.plate or one == asked.plate]
    return (nozzles[0], plates[0]) if nozzles and plates else None


def changing_minutes(line: Sequence[Run], n: int, named: dict[str, Batch], printer: Printer) -> int:
    """Minutes before a run in which nozzle and plate are changed."""
    before = on_now(printer) if n == 0 else put_on(printer, named[line[n - 1].batch].fit)
    after = put_on(printer, named[line[n].batch].fit)
    if before is None or after is None:
        return 0
    minutes = printer.nozzle_minutes if before[0] != after[0] else 0
    return minutes + (printer.plate_minutes if before[1] != after[1] else 0)


def fit_faults(run: Run, batch: Batch, printer: Printer) -> Iterator[str]:
    """A printer that has none of what a bed asks for does not print it."""
    if put_on(printer, batch.fit) is None:
        yield f"{run.name}: {printer.name} does not have {batch.fit} for {batch.name}."


def _nozzles(printer: Printer) -> list[str]:
    own = f"{printer.nozzle_mm:g}{' hardened' if printer.nozzle_hardened else ''}"
    return [own, *(" ".join([f"{float(text.split()[0]):g}", *text.split()[1:]]) for text in printer.nozzles)]
