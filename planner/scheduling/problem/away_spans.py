"""Spans in which a printer, a filament or a spool is away, in minutes after the start of the plan."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from planner.errors import Infeasible
from planner.model.away import Away, spans_of
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import minute_of, zone_of

NO_ONE = -1


def minutes_away(
    away: Iterable[Away], workshop: Workshop, start: datetime, ever: int, *, before: int = 0
) -> list[tuple[int, int]]:
    """First and last minutes, rounded outward, of the spans that are not over; an open end is ``ever``.

    Parameters
    ----------
    before : minutes that each begins earlier
    """
    zone = zone_of(workshop.attendance, start)
    found = []
    for since, until in spans_of(away, zone):
        first = math.floor(minute_of(start, since)) - before
        last = ever if until is None else min(ever, math.ceil(minute_of(start, until)))
        if last > 0 and first < ever:
            found.append((max(first, -before), last))
    return found


def shut_rows(workshop: Workshop, start: datetime, horizon: int) -> NDArray[np.int32]:
    """A row for every span: printer and material by number (-1: not of one), first tick, tick when back.

    The bed of a printer has cooled when it goes away.
    """
    ever = horizon + 1
    rows = [
        (n, NO_ONE, since, until)
        for n, printer in enumerate(workshop.printers)
        for since, until in minutes_away(
            printer.away, workshop, start, ever, before=math.ceil(printer.cool_down_minutes)
        )
    ]
    rows += [
        (NO_ONE, n, since, until)
        for n, filament in enumerate(workshop.filaments)
        for since, until in minutes_away(filament.away, workshop, start, ever)
    ]
    return np.array(rows, dtype=np.int32).reshape(len(rows), 4)


def nothing_left(
    batches: Iterable[Batch], workshop: Workshop, start: datetime, horizon: int
) -> Infeasible | None:
    """Why a batch cannot be printed at all: what it needs is away from some minute on until told."""
    for batch in batches:
        filament = workshop.filament(batch.filament)
        able = [
            printer
            for printer in workshop.printers
            if printer.kind == batch.printer_kind and workshop.can_run(printer, filament, batch.fit)
        ]
        needs: tuple[tuple[str, Sequence[Printer | Filament]], ...] = (
            (f"every printer for {filament.name!r} is", able),
            ("the filament is", [filament]),
        )
        for what, things in needs:
            since = [_for_good(thing.away, workshop, start, horizon) for thing in things]
            if not since or any(moment is None for moment in since):
                continue
            told = ", ".join(
                f"{thing.name} from {moment:%Y-%m-%d %H:%M}"
                for thing, moment in zip(things, since, strict=True)
                if moment is not None
            )
            return Infeasible(
                f"{what} away until told ({told}), and not all fits before.",
                where="away",
                next_step="Say until when, plan with others, or choose another filament.",
            )
    return None


def _for_good(away: Iterable[Away], workshop: Workshop, start: datetime, horizon: int) -> datetime | None:
    """The moment within the horizon from which it is away until told."""
    zone = zone_of(workshop.attendance, start)
    last = [since for since, until in spans_of(away, zone) if until is None]
    return last[0].astimezone(zone) if last and minute_of(start, last[0]) < horizon else None
