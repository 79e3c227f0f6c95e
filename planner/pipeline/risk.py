"""What may go wrong with a plan, from what its workshop and its ledger know."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from zoneinfo import ZoneInfo

import numpy as np

from planner.learning.minutes import PRINTER, PRINTER_SPREAD, REST
from planner.model.learned import Taught
from planner.model.plan import Plan
from planner.model.risk import BedRisk, Chances, FilamentRisk, FinishShare, Risk, RiskAsked
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import at_minute, zone_of
from planner.scheduling.simulation.livable import Livable, LivableBed
from planner.scheduling.simulation.slots import slots_of
from planner.scheduling.simulation.workplace import workplace_of
from planner.scheduling.simulation.worlds import Worlds, at_share, live_through
from planner.weights.spread import Z_HIGH

HALF, MOST = 0.5, 0.9
SHARES = tuple(n / 20.0 for n in range(1, 20))  # from 5 to 95 %; half and most are among them
MINUTES_PER_HOUR = 60.0


def chances_of(workshop: Workshop, taught: Taught | None, asked: RiskAsked, seed: int) -> Chances:
    """Failures as a ledger has counted them on each printer, else as the workshop tells; minutes likewise.

    A printer that nobody has timed is ``learning.minutes.PRINTER_SPREAD`` off, a timed one as far as is left
    by its runs.
    """
    rates = {one.printer: one.per_hour for one in taught.failures} if taught is not None else {}
    ranges = {one.name: one for one in taught.factors if one.kind == PRINTER} if taught is not None else {}
    spreads = {}
    for printer in workshop.printers:
        spreads[printer.name] = PRINTER_SPREAD
        known = ranges.get(printer.name)
        if known is not None and 0.0 < known.low <= known.high:
            spreads[printer.name] = min(PRINTER_SPREAD, math.log(known.high / known.low) / (2.0 * Z_HIGH))
    failures = {p.name: rates.get(p.name, workshop.failure_per_hour) for p in workshop.printers}
    return Chances(asked, seed, failures, spreads, REST)


def with_risk(plan: Plan, asked: RiskAsked | None) -> Plan:
    """The plan lived through in as many worlds as are asked for; the same where none is, or nothing runs."""
    if asked is None or not plan.schedule.runs:
        return plan
    return replace(plan, risk=risk_in(livable_of(plan), asked))


def livable_of(plan: Plan) -> Livable:
    """All of a plan that has runs that its worlds are lived through with."""
    shop, runs = plan.workshop, plan.schedule.runs
    names = [printer.name for printer in shop.printers]
    filament = {batch.name: batch.filament for batch in plan.batches}
    covered = frozenset(past.run.printer for past in plan.past if past.on_bed)
    beds = (
        LivableBed(run.batch, names.index(run.printer), filament[run.batch], run.total_g, run.purge_g)
        for run in runs
    )
    return Livable(
        plan.start,
        plan.schedule.finish,
        shop.attendance.zone,
        zone_of(shop.attendance, plan.start) == ZoneInfo(shop.attendance.zone),
        tuple(names),
        tuple(beds),
        shop.run_purge_g,
        shop.change_purge_g,
        chances_of(shop, plan.taught, RiskAsked(), plan.seed),
        workplace_of(plan.schedule, plan.batches, shop, plan.start, covered),
        slots_of(plan.schedule, shop, plan.start),
    )


def risk_in(plan: Livable, asked: RiskAsked) -> Risk:
    """What comes of the worlds that are asked for."""
    chances = replace(plan.chances, asked=asked)
    worlds = live_through(plan.work, plan.dryers, [bed.printer for bed in plan.beds], plan.printers, chances)
    return risk_of(plan, worlds, chances)


def risk_of(plan: Livable, worlds: Worlds, chances: Chances) -> Risk:
    """What the worlds tell of the finish, of grams, and of the beds."""
    finish = worlds.lived.finish
    planned = (plan.finish - plan.start).total_seconds() / 60.0
    return Risk(
        chances,
        tuple(FinishShare(share, _moment(plan, worlds.finish(share))) for share in SHARES),
        float((finish <= planned + 1e-6).mean()),
        float(np.isinf(finish).mean()),
        tuple(_filaments(plan, worlds)),
        tuple(_beds(plan, worlds)),
    )


def _moment(plan: Livable, minutes: float) -> datetime | None:
    """A whole minute, rounded up; ``None`` where it never comes."""
    if math.isinf(minutes):
        return None
    zone = ZoneInfo(plan.zone) if plan.local or plan.start.tzinfo is None else plan.start.tzinfo
    return at_minute(plan.start, math.ceil(minutes - 1e-6), zone)


def _filaments(plan: Livable, worlds: Worlds) -> Sequence[FilamentRisk]:
    """Grams of every filament: those of the plan, of what fails, and of purges when it is printed again."""
    lived, beds = worlds.lived, plan.beds
    again = np.maximum(0, lived.tries - 1)
    found = []
    for name in dict.fromkeys(bed.filament for bed in beds):
        mine = [n for n, bed in enumerate(beds) if bed.filament == name]
        planned = sum(beds[n].grams + beds[n].purge_g for n in mine)
        more = lived.spoilt[:, mine] @ np.array([beds[n].grams for n in mine])
        more = more + plan.run_purge_g * again[:, mine].sum(axis=1)
        more = more + plan.change_purge_g * lived.changes[:, mine].sum(axis=1)
        half, most = (planned + at_share(more, share) for share in (HALF, MOST))
        found.append(FilamentRisk(name, planned, half, most))
    return found


def _beds(plan: Livable, worlds: Worlds) -> Sequence[BedRisk]:
    """Every bed, the one that decides the finish in most worlds first."""
    lived = worlds.lived
    rows = [
        BedRisk(
            bed.name,
            float(lived.decides[:, n].mean()),
            float((lived.spoilt[:, n] > 0.0).mean()),
            float(lived.sooner[:, n].mean()) / MINUTES_PER_HOUR,
        )
        for n, bed in enumerate(plan.beds)
    ]
    return sorted(rows, key=lambda one: (-one.decides, -one.sooner_h, one.bed))
