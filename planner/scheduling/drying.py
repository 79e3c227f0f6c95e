"""Runs that wait for dry spools: slots laid out, the runs timed round them, the spools told into them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import TypeVar

from planner.errors import Infeasible
from planner.model.batch import Batch
from planner.model.drying import DryerLoad
from planner.model.filament import Filament
from planner.model.schedule import RUNNING, Run, Schedule
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import at_minute, minute_of, zone_of
from planner.scheduling.problem.dry_printers import with_few
from planner.scheduling.problem.dry_spans import (
    DAYS,
    Asked,
    Load,
    Stretch,
    TooShortError,
    dry_minute,
    dry_stretches,
    open_minutes,
    while_wet,
)
from planner.scheduling.problem.dry_turns import due_first, fewest_printers, in_turns
from planner.scheduling.spools.spools import handling_minutes
from planner.scheduling.visits import visits_of

TRIES = 16  # each gives a filament more room, or takes none of its spools to be dry
MODEST, MOST_MODEST = 8, 12  # from these on no more spools than fit at once; then printers in turns
Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Timed:
    """Runs with their spools, and their beds; ``on_bed`` names by printer what still lies there."""

    runs: Sequence[Run]
    batches: Sequence[Batch]
    on_bed: Mapping[str, str] = field(default_factory=dict)

    def open_beds(self) -> list[Batch]:
        """Beds that do not print already."""
        going_on = {run.batch for run in self.runs if run.mark == RUNNING}
        return [batch for batch in self.batches if batch.name not in going_on]


def first_rooms(batches: Mapping[str, tuple[float, int]], workshop: Workshop) -> dict[str, int]:
    """By filament that is dried, most grams first: for how many spools the first try leaves room.

    Parameters
    ----------
    batches : by filament, the grams that are printed of it and the number of its pieces or beds
    """
    found = {}
    for name, (grams, number) in sorted(batches.items(), key=lambda row: (-row[1][0], row[0])):
        filament = workshop.filament(name)
        if workshop.dries(filament) and workshop.dryer is not None:
            able = sum(workshop.can_run(printer, filament) for printer in workshop.printers)
            most = min(number, able + math.ceil(grams / filament.spool_g) - 1)
            found[name] = max(1, min(most, workshop.dryer.room))
    return found


def dried(
    workshop: Workshop,
    start: datetime,
    asked: Asked,
    attempt: Callable[[Workshop], Made],
    timed: Callable[[Made], Timed],
) -> tuple[Made, tuple[DryerLoad, ...]]:
    """What an attempt makes of the workshop while nothing wet is printed, and the slots of its spools.

    Where more spools are drawn from than a stretch has room for, or one that was not dry before, the slots
    are laid out again and the attempt is made again.

    Raises
    ------
    Infeasible
        where the attempt finds no time, or no layout of the slots holds what it draws from
    """
    if not asked.rooms:
        made = attempt(workshop)
        return made, _inside(asked)
    seen: Timed | None = None
    leads: list[str] | None = None  # filaments that were not yet the first in the dryers
    for n in range(TRIES):
        if n == MODEST:
            asked = _modest(asked, workshop)
        elif n == MOST_MODEST and seen is not None:
            asked = _all_in_turns(asked, workshop, seen)
        try:
            asked, stretches = _laid_out(workshop, start, asked)
        except TooShortError as refused:
            in_turn = None if seen is None else _one_at_a_time(asked, refused.filament, workshop, seen)
            if in_turn is None:
                raise _too_short(refused) from refused
            asked = in_turn
            continue
        try:
            made = attempt(_as_dry(workshop, start, stretches, asked))
        except Infeasible as refused:
            early = {name for name, rows in stretches.items() if rows and not rows[0].loads} - asked.wet
            if early:  # what is dry already may be too little
                asked = replace(asked, wet=asked.wet | early)
                continue
            leads = [*due_first(asked, workshop, start).rooms] if leads is None else leads
            led = _led(asked, leads) if refused.where == "away" else None
            if led is not None:
                asked = led
                continue
            raise _waiting(refused, asked) from refused
        seen = timed(made)
        found = _Told(seen, workshop, start, stretches, asked).loads()
        if not isinstance(found, Asked):
            return made, found
        asked = found
    raise Infeasible(
        f"no slots in the dryer were found that hold the spools of {', '.join(asked.rooms)}.",
        where="dryer",
        next_step="Say that the dryer takes more spools, or use fewer printers for them.",
    )


def with_drying(
    schedule: Schedule,
    loads: Sequence[DryerLoad],
    batches: Sequence[Batch],
    workshop: Workshop,
    start: datetime,
    on_bed: Mapping[str, str] | None = None,
) -> Schedule:
    """The schedule with its slots, and the visits that put spools in and take them out."""
    if not loads:
        return schedule
    named = {batch.name: batch for batch in batches}
    visits = visits_of(schedule.runs, named, workshop, start, on_bed, loads)
    return replace(schedule, drying=tuple(loads), visits=visits, interventions=len(visits))


def _led(asked: Asked, leads: list[str]) -> Asked | None:
    """The same with the next of these first in the dryers, which is taken off; ``None`` behind the last."""
    while leads:
        name = leads.pop(0)
        if name != next(iter(asked.rooms)):
            return replace(asked, rooms={name: asked.rooms[name], **asked.rooms})
    return None


def _modest(asked: Asked, workshop: Workshop) -> Asked:
    """Filaments that ask for more spools than fit into all dryers at once: for as many printers as that."""
    most = max(1, workshop.dryer.room if workshop.dryer is not None else 1)
    many = [name for name, number in asked.rooms.items() if number > most]
    few = {name: min(most, asked.few.get(name, most)) for name in many}
    return replace(asked, rooms={**asked.rooms, **dict.fromkeys(many, most)}, few={**asked.few, **few})


def _one_at_a_time(asked: Asked, name: str, workshop: Workshop, seen: Timed) -> Asked | None:
    """One spool of a filament at a time, and its printers in turns; ``None`` where that is asked already."""
    printers = () if name in asked.turns else fewest_printers(seen.open_beds(), name, workshop)
    if not printers:
        return None
    return replace(asked, rooms={**asked.rooms, name: 1}, turns={**asked.turns, name: printers})


def _all_in_turns(asked: Asked, workshop: Workshop, seen: Timed) -> Asked:
    """Every filament that asks for more than one spool, one at a time."""
    for name in [name for name, number in asked.rooms.items() if number > 1]:
        asked = _one_at_a_time(asked, name, workshop, seen) or asked
    return asked


def _as_dry(
    workshop: Workshop, start: datetime, stretches: Mapping[str, Sequence[Stretch]], asked: Asked
) -> Workshop:
    """The workshop that an attempt is given: which printers print what is dried, and when."""
    shop = while_wet(with_few(workshop, asked.few), start, stretches, asked)
    return in_turns(shop, asked.turns, stretches, start) if asked.turns else shop


def _laid_out(
    workshop: Workshop, start: datetime, asked: Asked
) -> tuple[Asked, Mapping[str, Sequence[Stretch]]]:
    """The slots; where spools for all printers are not dry in time, those for as few as are.

    Raises
    ------
    TooShortError
        where there can be no fewer
    """
    while True:
        try:
            return asked, dry_stretches(workshop, start, asked)
        except TooShortError as refused:
            fewer = _fewer(asked, refused.filament)
            if fewer is None:
                raise
            asked = fewer


def _fewer(asked: Asked, name: str) -> Asked | None:
    """Room for one spool of a filament less, and as many printers; ``None`` where there can be no fewer."""
    rooms = asked.rooms[name] - 1
    few = min(rooms, asked.few.get(name, asked.rooms[name]) - 1)
    if rooms < 1 or (few < 1 and name in asked.sole):
        return None
    sole = asked.sole | ({name} if few < 1 else set())
    return replace(asked, rooms={**asked.rooms, name: rooms}, few={**asked.few, name: max(1, few)}, sole=sole)


def _too_short(refused: TooShortError) -> Infeasible:
    return Infeasible(
        f"{refused.filament} is open for too short a time: the first of its spools must be dried again before"
        f" the last of {refused.spools} is out of the dryer.",
        where="dryer",
        next_step="Say that the dryer takes more spools, or that somebody is there more often.",
    )


def _waiting(refused: Infeasible, asked: Asked) -> Infeasible:
    names = ", ".join(asked.rooms)
    return Infeasible(
        f"{refused.what} Runs of {names} wait for the dryer, too.",
        where=refused.where,
        next_step=refused.next_step,
    )


def _no_stretch(bed: str, filament: Filament) -> Infeasible:
    lasts = "" if filament.open_hours is None else f" for {filament.open_hours:g} h"
    return Infeasible(
        f"{bed} of {filament.name} fits into no time in which its spools are dry{lasts}, within {DAYS} days.",
        where="dryer",
        next_step="Plan shorter beds (longest_run_h) or fewer pieces at once, or lengthen the attendance.",
    )


def _inside(asked: Asked) -> tuple[DryerLoad, ...]:
    return tuple(sorted(asked.inside, key=lambda load: (load.put_in.timestamp(), load.dryer)))


class _Told:
    """Which spools the runs of each dry stretch draw from, and in which slot each was dried for it."""

    def __init__(
        self,
        timed: Timed,
        workshop: Workshop,
        start: datetime,
        stretches: Mapping[str, Sequence[Stretch]],
        asked: Asked,
    ) -> None:
        self.timed, self.workshop, self.start = timed, workshop, start
        self.stretches, self.asked = stretches, asked

    def loads(self) -> tuple[DryerLoad, ...] | Asked:
        """The slots, in order of time; or what is to be asked instead."""
        found = list(self.asked.inside)
        rooms, wet, more = dict(self.asked.rooms), set(self.asked.wet), set(self.asked.more)
        needs = self._needs()
        if isinstance(needs, Asked):
            return needs
        for (name, n), spools in needs.items():
            stretch = self.stretches[name][n]
            there = {spool for load in stretch.loads for spool in load.spools}
            rest = [
                one
                for one, (begin, end) in spools.items()
                if not (one in there or self._dry(one, begin, end))
            ]
            empty = [load for load in stretch.loads if not load.spools]
            if rest and not stretch.loads:
                wet.add(name)
            elif len(rest) > sum(load.room for load in empty):
                if there:
                    more.add(name)
                rooms[name] = max(rooms[name], len(there) + len(rest))
            else:
                for load in empty:
                    mine, rest = rest[: load.room], rest[load.room :]
                    if mine:
                        found.append(self._load(load, mine))
        if rooms != dict(self.asked.rooms) or wet != self.asked.wet or more != self.asked.more:
            return replace(self.asked, rooms=rooms, wet=frozenset(wet), more=frozenset(more))
        return tuple(sorted(found, key=lambda load: (load.put_in.timestamp(), load.dryer)))

    def _load(self, load: Load, spools: Sequence[str]) -> DryerLoad:
        there = zone_of(self.workshop.attendance, self.start)
        put_in, take_out = (at_minute(self.start, at, there) for at in (load.put_in, load.take_out))
        return DryerLoad(load.dryer, load.filament, tuple(spools), put_in, take_out)

    def _needs(self) -> dict[tuple[str, int], dict[str, tuple[float, float]]] | Asked:
        """By filament and stretch, every spool that is drawn from: since when and until when.

        Where a bed is longer than what is left until the last of many spools is dry, fewer are asked for.
        """
        named = {batch.name: batch for batch in self.timed.batches}
        handling = handling_minutes(self.timed.runs, named, self.workshop, frozenset(self.timed.on_bed))
        found: dict[tuple[str, int], dict[str, tuple[float, float]]] = {}
        for run in self.timed.runs:
            name = named[run.batch].filament
            if run.mark == RUNNING or name not in self.asked.rooms:
                continue
            begin = minute_of(self.start, run.start) - handling[run.name]
            end = minute_of(self.start, run.end)
            rows = enumerate(self.stretches[name])
            n = next((n for n, one in rows if one.since <= begin and end <= one.until), None)
            if n is None:
                fewer = _fewer(self.asked, name) or self._otherwise(name)
                if fewer is None:
                    raise _no_stretch(run.batch, self.workshop.filament(name))
                return fewer
            spools = found.setdefault((name, n), {})
            for draw in run.draws:
                first, last = spools.get(draw.spool, (begin, end))
                spools[draw.spool] = min(first, begin), max(last, end)
        return found

    def _otherwise(self, name: str) -> Asked | None:
        """One spool at a time and printers in turns; then slots that end when somebody is there for long."""
        asked = self.asked
        in_turn = _one_at_a_time(asked, name, self.workshop, self.timed) if asked.rooms[name] > 1 else None
        if in_turn is not None or name in asked.aligned:
            return in_turn
        return replace(asked, aligned=asked.aligned | {name})

    def _dry(self, spool: str, begin: float, end: float) -> bool:
        """Whether it is dry all that time as it was told to be dried."""
        told = next((one for one in self.workshop.spools if one.name == spool), None)
        at = None if told is None else dry_minute(told, self.workshop, self.start)
        if told is None or at is None:
            return False
        return at <= begin and end <= at + open_minutes(self.workshop.filament(told.filament))
