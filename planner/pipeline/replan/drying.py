"""Dryers in a plan that goes on: what is dry, what is in them now, and the rest timed round the slots."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, time, tzinfo

from planner.model.drying import DryerLoad
from planner.model.filament import Spool
from planner.model.replan import EarlierPlan
from planner.model.workshop import Workshop
from planner.pipeline.replan.beds import BedsLeft
from planner.pipeline.replan.buying import Given
from planner.scheduling.drying import Timed, dried, first_rooms, with_drying
from planner.scheduling.problem.calendar import at_minute, minute_of, windows, zone_of
from planner.scheduling.problem.dry_spans import Asked
from planner.scheduling.repair.replan import Replanned
from planner.scheduling.repair.replan_plan import Underway

LOOK_AHEAD_DAYS = 60  # for somebody who takes a spool out
Attempt = tuple[BedsLeft, Given, Replanned]


def replanned_dry(
    attempt: Callable[[Workshop], Attempt],
    left: BedsLeft,
    underway: Underway,
    now: DryersNow,
    earlier: EarlierPlan,
    workshop: Workshop,
    start: datetime,
) -> Attempt:
    """What an attempt makes of the open beds while nothing wet is printed; fewest moves are not proved then.

    Raises
    ------
    Infeasible
        where there is no time for the slots, or none that the runs fit
    """
    of: dict[str, tuple[float, int]] = {}
    for batch in left.batches:
        grams, number = of.get(batch.filament, (0.0, 0))
        of[batch.filament] = (grams + batch.mass_g, number + 1)
    prints = {batch.name: batch.filament for batch in underway.batches}
    busy: dict[str, int] = {}
    for run in underway.runs:
        until = math.ceil(minute_of(start, run.end))
        busy[prints[run.batch]] = max(until, busy.get(prints[run.batch], 0))
    before = tuple(load for load in earlier.drying if load.put_in >= start)
    asked = Asked(first_rooms(of, workshop), busy, now.inside, before=before)
    beside = dict(underway.on_bed or {})

    def timed(made: Attempt) -> Timed:
        return Timed(made[1][0].runs, [*underway.batches, *made[0].batches], beside)

    seen = [workshop]

    def tried(shop: Workshop) -> Attempt:
        seen.append(shop)
        return attempt(shop)

    (beds, (schedule, uses), answer), loads = dried(workshop, start, asked, tried, timed)
    if seen[-1].printers != workshop.printers:  # what is proved of fewer printers is not of all
        schedule = replace(schedule, lower_bound_h=None, proven_gap=None)
    batches = [*underway.batches, *beds.batches]
    schedule = with_drying(schedule, (*now.over, *loads), batches, workshop, start, underway.on_bed)
    proved = answer.proved and not asked.rooms
    return beds, (schedule, uses), replace(answer, proved=proved)


@dataclass(frozen=True, slots=True)
class DryersNow:
    """Slots that are over, by which spools are dry now, what is in the dryers, and what is assumed."""

    over: tuple[DryerLoad, ...]
    inside: tuple[DryerLoad, ...]
    notes: tuple[str, ...]


def dryers_now(workshop: Workshop, earlier: EarlierPlan, start: datetime) -> tuple[Workshop, DryersNow]:
    """The shelf as it was dried by the earlier plan, and its slots as they are now.

    A slot that is over is taken to have been kept; a moment that is told of a spool goes before it.
    """
    zone = zone_of(workshop.attendance, start)
    kept: dict[str, DryerLoad] = {}
    inside: list[DryerLoad] = []
    told = earlier.told_dry
    workshop = replace(
        workshop,
        spools=tuple(
            replace(s, dried=told[s.name][0] if told[s.name][1] else None) if s.name in told else s
            for s in workshop.spools
        ),
    )
    shelf = {spool.name: spool for spool in workshop.spools}
    for load in sorted(earlier.drying, key=lambda load: load.take_out.timestamp()):
        begun = [name for name in load.spools if not _told_since(shelf.get(name), load.put_in, zone)]
        begun = [n for n in begun if n in shelf and not (n in told and told[n][0] >= load.put_in)]
        if load.put_in >= start or workshop.dryer is None or not begun or _too_short(load, workshop):
            continue
        if load.take_out <= start:
            kept |= dict.fromkeys(begun, load)
        elif load.dryer <= workshop.dryer.count:
            put_in, take_out = load.put_in.astimezone(zone), _attended(load.take_out, workshop, start)
            inside.append(replace(load, spools=tuple(begun), put_in=put_in, take_out=take_out))
    spools = tuple(
        replace(s, dried=kept[s.name].take_out.astimezone(zone)) if s.name in kept else s
        for s in workshop.spools
    )
    over = [
        replace(
            load,
            spools=tuple(name for name in load.spools if kept.get(name) is load),
            put_in=load.put_in.astimezone(zone),
            take_out=load.take_out.astimezone(zone),
        )
        for load in earlier.drying
        if any(one is load for one in kept.values())
    ]
    notes = []
    if kept:
        notes.append(f"{', '.join(kept)}: dried as the earlier plan said")
    if inside:
        names = ", ".join(name for load in inside for name in load.spools)
        notes.append(f"{names}: in the dryer now, as the earlier plan said")
    return replace(workshop, spools=spools), DryersNow(tuple(over), tuple(inside), tuple(notes))


def _too_short(load: DryerLoad, workshop: Workshop) -> bool:
    """Whether the filament asks for more hours by now, or is none of the workshop any more."""
    asked = next((f.dry_hours or 0.0 for f in workshop.filaments if f.name == load.filament), None)
    hours = (load.take_out.timestamp() - load.put_in.timestamp()) / 3600.0
    return asked is None or hours + 0.001 < asked


def _attended(moment: datetime, workshop: Workshop, start: datetime) -> datetime:
    """The moment, or the first after it at which somebody is there."""
    minute = math.ceil(minute_of(start, moment))
    days = minute // (24 * 60) + LOOK_AHEAD_DAYS
    there = windows(workshop.attendance, start, days)
    at = next((max(minute, since) for since, until in there if max(minute, since) < until), minute)
    return at_minute(start, at, zone_of(workshop.attendance, start))


def _told_since(spool: Spool | None, put_in: datetime, zone: tzinfo) -> bool:
    """Whether a spool is told to have come out of a dryer since it would have gone in."""
    moment: date | None = None if spool is None else spool.dried
    if moment is None:
        return False
    if not isinstance(moment, datetime):
        moment = datetime.combine(moment, time(0))
    aware = moment if moment.tzinfo is not None else moment.replace(tzinfo=zone)
    return aware >= put_in
