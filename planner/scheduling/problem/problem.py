"""The scheduling problem as whole numbers: batches, printers, handling and attendance in ticks."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.fit import Fit
from planner.model.printer import Printer
from planner.model.workshop import Workshop
from planner.scheduling.problem.away_spans import shut_rows
from planner.scheduling.problem.calendar import Window

Ints = NDArray[np.int32]

NOT_HERE = -1
NOTHING_LOADED = -1
NO_SETUP = np.zeros((0, 0, 0), dtype=np.int32)
NO_SHUT = np.zeros((0, 4), dtype=np.int32)
NO_FIT = np.zeros((0, 0), dtype=np.int32)
NO_FITTED = np.zeros(0, dtype=np.int32)


class Tables(NamedTuple):
    """All that the compiled kernels read; times are ticks after the start of the plan.

    One handling is one unbroken stretch of a person's time: clear the bed (not before the first run of
    an empty printer), change the filament (when another one is loaded), start. Watching the first layers
    needs somebody there, who may handle another printer meanwhile.
    """

    duration: Ints  # (batches, printers), NOT_HERE where the printer cannot take the batch
    material: Ints  # (batches,)
    attended: Ints  # (batches,) 1: somebody must be there during the whole run
    watch: Ints  # (batches,) ticks of watching after the start
    early: NDArray[np.float64]  # (batches,) weight of ending early
    partner: Ints  # (batches,) another batch that belongs on the same printer, or -1
    release: Ints  # (printers,) first tick at which the printer is free
    loaded: Ints  # (printers,) material at the start, or NOTHING_LOADED
    covered: Ints  # (printers,) 1: the bed must be cleared before the first run
    cool: Ints  # (printers,) ticks between the end of a run and clearing
    clear: int
    change: int
    start: int
    persons: int
    opens: Ints  # (windows,)
    closes: Ints  # (windows,)
    window_at: Ints  # (horizon + 1,) first window that closes after the tick
    setup: Ints  # (printers, batches, batches) ticks between two batches that need nobody; empty: handling
    shut: Ints = (
        NO_SHUT  # (spans, 4) printer, material (-1: not of one), first tick, tick at which it is back
    )
    fit: Ints = NO_FIT  # (batches, printers) which nozzle and plate of the printer the batch is printed with
    fitted: Ints = NO_FITTED  # (printers,) which are on it at the start
    refit: Ints = NO_SETUP  # (printers, fits, fits) ticks to go from one to the other; empty: none


def tables_of_windows(spans: Sequence[Window], horizon: int) -> tuple[Ints, Ints, Ints]:
    """Opening and closing ticks, and for each tick the first window that closes after it."""
    opens = np.array([since for since, _ in spans], dtype=np.int32)
    closes = np.array([until for _, until in spans], dtype=np.int32)
    window_at = np.searchsorted(closes, np.arange(horizon + 1), side="right").astype(np.int32)
    return opens, closes, window_at


def run_ticks(minutes: float) -> int:
    """Whole minutes that a run is given."""
    return max(1, math.ceil(minutes - 1e-6))


def compile_tables(
    batches: Sequence[Batch],
    workshop: Workshop,
    spans: Sequence[Window],
    horizon: int,
    early: Mapping[str, float],
    partner: Mapping[str, str],
    start: datetime | None = None,
) -> Tables:
    """Write the problem of a workshop in minutes.

    Parameters
    ----------
    start : of the plan; without it nothing is taken to be away

    Raises
    ------
    Infeasible
        when no printer of the right kind may run the filament of a batch
    """
    filaments = {f.name: n for n, f in enumerate(workshop.filaments)}
    place = {batch.name: n for n, batch in enumerate(batches)}
    duration = np.full((len(batches), len(workshop.printers)), NOT_HERE, dtype=np.int32)
    for row, batch in enumerate(batches):
        filament = workshop.filament(batch.filament)
        for column, printer in enumerate(workshop.printers):
            if printer.kind == batch.printer_kind and workshop.can_run(printer, filament, batch.fit):
                duration[row, column] = run_ticks(batch.minutes)
        if (duration[row] < 0).all():
            raise Infeasible(
                f"batch {batch.name!r} needs a printer of kind {batch.printer_kind!r} that runs"
                f" {batch.filament!r}{_with(batch.fit)}, and the workshop has none.",
                next_step="Add the filament to a printer of that kind, or choose another filament.",
            )
    needs = [workshop.filament(batch.filament) for batch in batches]
    opens, closes, window_at = tables_of_windows(spans, horizon)
    printers = workshop.printers
    fit, fitted, refit = fits_of(batches, printers)
    return Tables(
        duration=duration,
        material=np.array([filaments[f.name] for f in needs], dtype=np.int32),
        attended=np.array([not f.unattended_run for f in needs], dtype=np.int32),
        watch=np.array([f.watch_minutes for f in needs], dtype=np.int32),
        early=np.array([early.get(b.name, 0.0) for b in batches], dtype=np.float64),
        partner=np.array([place.get(partner.get(b.name, ""), -1) for b in batches], dtype=np.int32),
        release=np.zeros(len(printers), dtype=np.int32),
        loaded=np.array([filaments.get(p.loaded or "", NOTHING_LOADED) for p in printers], dtype=np.int32),
        covered=np.zeros(len(printers), dtype=np.int32),
        cool=np.array([math.ceil(p.cool_down_minutes) for p in printers], dtype=np.int32),
        clear=workshop.clear_minutes,
        change=workshop.change_minutes,
        start=workshop.start_minutes,
        persons=workshop.attendance.most,
        opens=opens,
        closes=closes,
        window_at=window_at,
        setup=NO_SETUP,
        shut=NO_SHUT if start is None else shut_rows(workshop, start, horizon),
        fit=fit,
        fitted=fitted,
        refit=refit,
    )


def fits_of(batches: Sequence[Batch], printers: Sequence[Printer]) -> tuple[Ints, Ints, Ints]:
    """Nozzle and plate of every batch on every printer, those on it now, and the ticks between any two.

    All empty where nothing is ever changed.
    """
    needs = [[printer.fit_for(batch.fit) or (0, 0) for printer in printers] for batch in batches]
    now = [printer.fitted for printer in printers]
    if all(one == on for row in needs for one, on in zip(row, now, strict=True)):
        return NO_FIT, NO_FITTED, NO_SETUP
    known = [sorted({on, *(row[p] for row in needs)}) for p, on in enumerate(now)]
    width = max(len(rows) for rows in known)
    refit = np.zeros((len(printers), width, width), dtype=np.int32)
    for p, rows in enumerate(known):
        for a, before in enumerate(rows):
            for b, after in enumerate(rows):
                refit[p, a, b] = printers[p].refit_minutes(before, after)
    fit = np.array([[known[p].index(one) for p, one in enumerate(row)] for row in needs], dtype=np.int32)
    return fit, np.array([known[p].index(on) for p, on in enumerate(now)], dtype=np.int32), refit


def _with(asked: Fit) -> str:
    return f" with {asked}" if str(asked) else ""
