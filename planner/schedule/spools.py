"""Which run draws its grams from which spool, and what must be bought."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.schedule import Draw, Run, Schedule, SpoolUse
from planner.model.workshop import Workshop
from planner.schedule.calendar import minute_of, windows
from planner.schedule.spool_model import Demand, fewest_spools

UNITS_PER_GRAM = 100  # grams are counted in whole hundredths, so that sums are exact


@dataclass(slots=True)
class Reel:
    """A spool while it is being used up; masses in hundredths of a gram."""

    name: str
    filament: str
    bought: bool
    before: int
    price_minor: int | None
    used: int = 0
    purged: int = 0
    printer: str = ""
    free_at: datetime | None = None

    @property
    def left(self) -> int:
        """What is still on it."""
        return self.before - self.used - self.purged

    def serves(self, run: Run, mounted: datetime) -> bool:
        """Whether it can be put on the run's printer when that is handled."""
        return self.printer == run.printer or self.free_at is None or self.free_at <= mounted


def units(grams: float) -> int:
    """Whole hundredths of a gram."""
    return round(grams * UNITS_PER_GRAM)


def assign_spools(
    schedule: Schedule, batches: Sequence[Batch], workshop: Workshop
) -> tuple[tuple[Run, ...], tuple[SpoolUse, ...]]:
    """Give every run its spool: fewest spools to buy, then fewest spools opened.

    First in order of time: a run keeps the spool that is on its printer if that suffices, else takes the
    spool of the shelf with the least left that suffices, else a new one. Then filament by filament by an
    exact model. A batch that needs more than a full spool is split over several, with the change while
    somebody is there; its filament stays in order of time.

    Raises
    ------
    Infeasible
        when such a change would fall in hours without attendance
    """
    named = {batch.name: batch for batch in batches}
    handling = _handling_minutes(schedule.runs, named, workshop)
    kinds = {run.name: named[run.batch].filament for run in schedule.runs}
    reels: list[Reel] = []
    drawn: dict[str, tuple[Draw, ...]] = {}
    for name in dict.fromkeys([*(spool.filament for spool in workshop.spools), *kinds.values()]):
        runs = [run for run in schedule.runs if kinds[run.name] == name]
        used, draws = _in_time_order(runs, name, named, workshop, handling)
        if all(len(draw) == 1 for draw in draws.values()):
            used, draws = (
                _exactly(runs, used, draws, named, workshop.filament(name), handling)
                if runs
                else (used, draws)
            )
        reels += used
        drawn |= draws
    finished = (
        replace(run, draws=drawn[run.name], purge_g=units(run.purge_g) / UNITS_PER_GRAM)
        for run in schedule.runs
    )
    return tuple(finished), tuple(_use(reel) for reel in reels)


def _handling_minutes(runs: Sequence[Run], named: Mapping[str, Batch], workshop: Workshop) -> dict[str, int]:
    """How long before its start a run's printer is being handled, and its spool put on."""
    found: dict[str, int] = {}
    loaded: dict[str, str | None] = {printer.name: printer.loaded for printer in workshop.printers}
    seen: set[str] = set()
    for run in runs:
        filament = named[run.batch].filament
        found[run.name] = workshop.start_minutes
        found[run.name] += workshop.change_minutes if loaded[run.printer] != filament else 0
        found[run.name] += workshop.clear_minutes if run.printer in seen else 0
        loaded[run.printer] = filament
        seen.add(run.printer)
    return found


def _shelf(name: str, workshop: Workshop) -> list[Reel]:
    return [
        Reel(s.name, s.filament, False, math.floor(s.grams_left * UNITS_PER_GRAM + 1e-6), s.price_minor)
        for s in workshop.spools
        if s.filament == name
    ]


def _in_time_order(
    runs: Sequence[Run],
    name: str,
    named: Mapping[str, Batch],
    workshop: Workshop,
    handling: Mapping[str, int],
) -> tuple[list[Reel], dict[str, tuple[Draw, ...]]]:
    reels = _shelf(name, workshop)
    drawn: dict[str, tuple[Draw, ...]] = {}
    for run in runs:
        filament = workshop.filament(name)
        need, purge = units(named[run.batch].mass_g), units(run.purge_g)
        mounted = run.start - timedelta(minutes=handling[run.name])
        reel = _fitting_reel(reels, run, filament, need + purge, mounted)
        if reel is None and need + purge <= units(filament.spool_g):
            reel = _bought(reels, filament)
        draws = [(reel, need)] if reel is not None else _split(reels, run, filament, need, purge, workshop)
        draws[0][0].purged += purge
        for taken, amount in draws:
            taken.used += amount
            taken.printer, taken.free_at = run.printer, run.end
        drawn[run.name] = tuple(Draw(r.name, amount / UNITS_PER_GRAM) for r, amount in draws)
    return reels, drawn


def _exactly(
    runs: Sequence[Run],
    reels: list[Reel],
    drawn: dict[str, tuple[Draw, ...]],
    named: Mapping[str, Batch],
    filament: Filament,
    handling: Mapping[str, int],
) -> tuple[list[Reel], dict[str, tuple[Draw, ...]]]:
    """The best assignment of one filament, or the given one when nothing better is found."""
    opened = sum(reel.used > 0 for reel in reels)
    if opened <= 1 or not drawn:
        return reels, drawn
    place = {reel.name: at for at, reel in enumerate(reels)}
    demands = [
        Demand(
            units(named[run.batch].mass_g) + units(run.purge_g),
            run.start.timestamp() - 60.0 * handling[run.name],
            run.end.timestamp(),
        )
        for run in runs
    ]
    shelf = [reel.before for reel in reels if not reel.bought]
    hint = [place[drawn[run.name][0].spool] for run in runs]
    served = fewest_spools(demands, shelf, units(filament.spool_g), hint)
    if served is None:
        return reels, drawn
    fresh = [replace(reel, used=0, purged=0) for reel in reels]
    for run, at in zip(runs, served.spool, strict=True):
        fresh[at].used += units(named[run.batch].mass_g)
        fresh[at].purged += units(run.purge_g)
    draws: dict[str, tuple[Draw, ...]] = {
        run.name: (Draw(fresh[at].name, units(named[run.batch].mass_g) / UNITS_PER_GRAM),)
        for run, at in zip(runs, served.spool, strict=True)
    }
    return [reel for reel in fresh if not reel.bought or reel.used > 0], draws


def _fitting_reel(
    reels: Sequence[Reel], run: Run, filament: Filament, need: int, mounted: datetime
) -> Reel | None:
    fitting = [r for r in reels if r.filament == filament.name and r.left >= need and r.serves(run, mounted)]
    if not fitting:
        return None
    return min(fitting, key=lambda r: (r.printer != run.printer, r.left))


def _bought(reels: list[Reel], filament: Filament) -> Reel:
    taken = {reel.name for reel in reels}
    number = 1
    while (name := f"new {filament.name} {number}") in taken:
        number += 1
    reel = Reel(name, filament.name, True, units(filament.spool_g), filament.price_minor)
    reels.append(reel)
    return reel


def _split(
    reels: list[Reel], run: Run, filament: Filament, need: int, purge: int, workshop: Workshop
) -> list[tuple[Reel, int]]:
    """Full new spools one after another; each change falls where somebody is there."""
    began = run.start
    length = minute_of(run.start, run.end)
    days = math.ceil(length / (24 * 60)) + 1
    spans = windows(workshop.attendance, began, days)
    draws: list[tuple[Reel, int]] = []
    done = 0
    while done < need:
        reel = _bought(reels, filament)
        room = reel.left - (0 if draws else purge)
        if need - done <= room:
            draws.append((reel, need - done))
            break
        limit = math.floor(length * (done + room) / need)
        changes = [min(until - 1, limit) for since, until in spans if since <= limit]
        amount = math.floor(need * max(changes, default=0) / length) - done
        if amount <= 0:
            raise Infeasible(
                f"batch {run.batch!r} needs {need / UNITS_PER_GRAM:.0f} g of {filament.name}, more than a"
                f" full spool of {filament.spool_g:g} g, and nobody is there when it must be changed.",
                next_step="Split the batch, use larger spools, or lengthen the attendance.",
            )
        draws.append((reel, amount))
        done += amount
    return draws


def _use(reel: Reel) -> SpoolUse:
    return SpoolUse(
        spool=reel.name,
        filament=reel.filament,
        bought=reel.bought,
        grams_before=reel.before / UNITS_PER_GRAM,
        grams_used=reel.used / UNITS_PER_GRAM,
        grams_purged=reel.purged / UNITS_PER_GRAM,
        grams_left=reel.left / UNITS_PER_GRAM,
        price_minor=reel.price_minor,
    )
