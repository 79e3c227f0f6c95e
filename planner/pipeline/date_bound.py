"""How few changes could at all end a plan by a date: a bound that no bed plan and no calendar beats."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from planner.errors import Infeasible
from planner.model.deposit import Deposit
from planner.model.part import Part
from planner.pipeline.job import Job
from planner.tradeoffs.alternatives import Alternative, Rest, Targets
from planner.tradeoffs.tradeoff import least_change
from planner.units import SECONDS_PER_MINUTE


def least_minutes(job: Job, part: Part, deposit: Deposit) -> float:
    """Machine minutes that one piece takes at the very least, on the printer that is quickest with it.

    The layer change is left out, for pieces of one bed share it; heating, travel between pieces and
    the least layer time come on top of it in any bed (Source: the model of a bed's minutes).
    """
    shop = job.workshop
    filament = shop.filament(part.filament)
    own = []
    for printer in shop.printers:
        seconds = deposit.seconds.get(printer.kind)
        if seconds is not None and shop.can_run(printer, filament):
            changes = len(seconds) * printer.motion.layer_change_s
            own.append(printer.minutes_times(filament.name) * (float(seconds.sum()) - changes))
    return max(min(own, default=0.0), 0.0) / SECONDS_PER_MINUTE


def fewest_changes(
    job: Job,
    rows: Sequence[Alternative],
    least: Mapping[tuple[str, str], float],
    rest: Rest,
    limits: Targets,
    finish: datetime,
) -> int | None:
    """No choice with fewer changes can end by ``finish``; ``None`` when none can at all.

    Source: all machine time has to fit between start and finish on all printers together (the load
    bound of parallel machines, Graham 1969), whatever the beds and visits.
    """
    room = (finish - job.start).total_seconds() / SECONDS_PER_MINUTE * len(job.workshop.printers)
    room += len({row.part for row in rows}) / SECONDS_PER_MINUTE  # the program counts rows in whole seconds
    bound = [replace(row, minutes=least[row.part, row.name]) for row in rows]
    try:
        found = least_change(bound, replace(rest, minutes=0.0), replace(limits, minutes=room), seed=job.seed)
    except Infeasible:
        return None
    return len(found.changed) if found.proved else 0
