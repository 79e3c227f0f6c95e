"""What one more of the same airframe costs: the same beds on the same printers once more."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from planner.costing.cost import cost_sheet, gram_price
from planner.costing.machine_work import hours_lost, run_hours
from planner.model.batch import Batch
from planner.model.budget import Cost
from planner.model.plan import Plan
from planner.model.schedule import Run, SpoolUse, Visit
from planner.model.series_price import COPIES, SeriesPrice, SeriesRow
from planner.model.workshop import Workshop
from planner.units import to_minor

_UNITS = 100  # hundredths of a gram, as spools are counted


@dataclass(frozen=True, slots=True)
class Seam:
    """How a further copy differs from the first, which found the printers as they were.

    Grams that it purges more by filament (less where negative), and minutes of a person more.
    """

    purge_g: Mapping[str, float]
    minutes: int


def series_price(plan: Plan) -> SeriesPrice | None:
    """What one more costs, and what several come to; ``None`` where the plan is not that of one airframe.

    A plan that goes on from another, one of several airframes and one that leaves pieces out have none.
    Assumes: every copy is printed on the beds of this plan, on the same printers in the same order, the next
    one after the one before. So each printer begins it with the filament, nozzle and plate that the last bed
    of the one before has left there; all else is as in this plan. Failures stand on the sheet as expected
    reprints, for every copy alike.
    """
    workshop, schedule, spools = plan.workshop, plan.schedule, plan.spools
    told = plan.past or plan.replan or plan.airframe.members or plan.misfits
    if told or not schedule.runs:
        return None
    seam = seam_of(workshop, plan.batches, schedule.runs)
    further = _further(plan, seam)
    hours: dict[str, float] = defaultdict(float)
    for run in schedule.runs:
        hours[run.printer] += run_hours(run)
    busiest = min(hours, key=lambda name: (-hours[name], name))
    lines = tuple(line for line in further.lines if line.in_total)
    lost = sum(hours_lost(run_hours(run), workshop.failure_per_hour) for run in schedule.runs)
    minutes = sum(visit.minutes for visit in schedule.visits)
    rows = []
    for copies in COPIES:
        more = copies - 1
        total = plan.cost.total_minor + more * further.total_minor
        count, left_g, left = _whole_spools(workshop, spools, seam, copies)
        rows.append(
            SeriesRow(
                copies=copies,
                total_minor=total,
                each_minor=divided(total, copies),
                spools=count,
                left_g=left_g,
                left_minor=left,
                whole_each_minor=divided(total + left, copies),
                print_hours=copies * sum(hours.values()),
                busiest_hours=copies * hours[busiest],
                lost_hours=copies * lost,
                person_minutes=minutes + more * (minutes + seam.minutes),
            )
        )
    return SeriesPrice(lines, further.total_minor, busiest, tuple(rows))


def seam_of(workshop: Workshop, batches: Sequence[Batch], runs: Sequence[Run]) -> Seam:
    """First beds follow the last ones of the copy before, not what was on the printers at the start."""
    beds = {batch.name: batch for batch in batches}
    purge: dict[str, float] = defaultdict(float)
    minutes = 0
    for printer in workshop.printers:
        own = [beds[run.batch] for run in runs if run.printer == printer.name]
        if not own:
            continue
        first, last = own[0], own[-1]
        again = last.filament != first.filament
        was = printer.loaded != first.filament
        purge[first.filament] += workshop.change_purge_g * (again - (was and printer.loaded is not None))
        minutes += workshop.change_minutes * (again - was)
        begins, ends = printer.fit_for(first.fit), printer.fit_for(last.fit)
        if begins is not None and ends is not None:
            minutes += printer.refit_minutes(ends, begins) - printer.refit_minutes(printer.fitted, begins)
    return Seam({name: grams for name, grams in purge.items() if grams}, minutes)


def divided(minor: int, copies: int) -> int:
    """An amount for one of so many, rounded half up."""
    return int((Decimal(minor) / copies).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def _further(plan: Plan, seam: Seam) -> Cost:
    """The cost sheet of a copy that is not the first."""
    schedule = plan.schedule
    minutes = sum(visit.minutes for visit in schedule.visits) + seam.minutes
    at = schedule.visits[0].at if schedule.visits else schedule.finish
    uses, more = [], dict(seam.purge_g)
    for use in plan.spools:
        grams = more.pop(use.filament, 0.0) if use.grams_used > 0.0 else 0.0
        uses.append(replace(use, grams_purged=use.grams_purged + grams))
    planned = replace(schedule, visits=(Visit(at, minutes, ()),))
    return cost_sheet(plan.airframe, plan.workshop, plan.mass, plan.batches, planned, uses)


def _whole_spools(
    workshop: Workshop, spools: Sequence[SpoolUse], seam: Seam, copies: int
) -> tuple[int, float, int]:
    """Spools to buy at least, the grams left on them, and what these are worth by the gram.

    The first copy buys what the plan buys. Of more, the shelf is drawn empty before anything is bought, and
    spools to the last gram: where none holds a whole bed any more, some more are bought.
    """
    count = left = worth = 0
    for name in dict.fromkeys(use.filament for use in spools):
        own = [use for use in spools if use.filament == name]
        bought = sum(use.bought for use in own)
        rest = _units(sum(use.grams_left for use in own if use.bought))
        if copies > 1:
            once = _units(sum(use.grams_used + use.grams_purged for use in own))
            need = once + (copies - 1) * (once + _units(seam.purge_g.get(name, 0.0)))
            short = max(0, need - _units(sum(use.grams_before for use in own if not use.bought)))
            one = _units(workshop.filament(name).spool_g)
            bought = max(bought, math.ceil(short / one))
            rest = bought * one - short
        price, _ = gram_price(workshop, name, spools)
        count, left = count + bought, left + rest
        worth += 0 if price is None else to_minor(price * rest / _UNITS, workshop.currency)
    return count, left / _UNITS, worth


def _units(grams: float) -> int:
    return round(grams * _UNITS)
