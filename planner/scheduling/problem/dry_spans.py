"""When filaments are dry: slots in the dryers laid out before the runs, one after another by need.

The runs of a filament are kept out of the time between two dry stretches, as of an absence: a slot is found
for all spools that the next stretch may need, so that no order of the runs has to know of the dryers.
"""

from __future__ import annotations

import heapq
import math
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time

from planner.errors import Infeasible
from planner.model.away import Away, joined
from planner.model.drying import Dryer, DryerLoad
from planner.model.filament import Filament, Spool
from planner.model.workshop import Workshop
from planner.scheduling.problem.away_spans import minutes_away
from planner.scheduling.problem.calendar import Window, at_minute, minute_of, windows, zone_of

DAYS = 180  # that are laid out; a plan that dries for longer is refused
MOST_STRETCHES = 60  # of one filament
MINUTES_PER_DAY = 24 * 60
HOUR = 60  # by which windows differ where clocks are changed
EVER = 10 * 366 * MINUTES_PER_DAY


class TooShortError(Exception):
    """Spools of a filament must be dried again before so many as are asked for are dry."""

    def __init__(self, filament: str, spools: int) -> None:
        super().__init__(filament, spools)
        self.filament, self.spools = filament, spools


@dataclass(frozen=True, slots=True)
class Load:
    """A slot in minutes after the start: which dryer, from when until when, and how many spools fit in it.

    ``spools`` are named where they are in it already.
    """

    dryer: int
    filament: str
    put_in: int
    take_out: int
    room: int
    spools: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stretch:
    """Minutes in which spools are dry, and the slots that made them so; without any they were dry before."""

    since: int
    until: int
    loads: tuple[Load, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """What is known before the slots are laid out.

    ``rooms`` tells by filament for how many spools each stretch has room. ``busy`` tells by filament the
    minute until which it is being printed, ``inside`` what is in a dryer just now, ``wet`` filaments of which
    no spool counts as dry at the start, ``before`` slots of an earlier plan that are still to come, ``few``
    for how many printers spools are dried in time, where these are too few, ``sole`` filaments of which only
    as many spools are used as there is room for, ``more`` those that wait for further spools beside what is
    in a dryer just now, ``turns`` printers that print a filament one after the other, ``aligned`` filaments
    whose spools come out when a long window of the attendance opens.
    """

    rooms: Mapping[str, int]
    busy: Mapping[str, int] = field(default_factory=dict)
    inside: Sequence[DryerLoad] = ()
    wet: frozenset[str] = frozenset()
    before: Sequence[DryerLoad] = ()
    few: Mapping[str, int] = field(default_factory=dict)
    sole: frozenset[str] = frozenset()
    more: frozenset[str] = frozenset()
    turns: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    aligned: frozenset[str] = frozenset()


def dry_minute(spool: Spool, workshop: Workshop, start: datetime) -> int | None:
    """The minute after the start, rounded up, at which a spool came out of the dryer; ``None``: never."""
    return _minute(spool.dried, workshop, start)


def _minute(moment: date | None, workshop: Workshop, start: datetime) -> int | None:
    """A moment, or the beginning of a day, in minutes after the start."""
    if moment is None:
        return None
    zone = zone_of(workshop.attendance, start)
    if not isinstance(moment, datetime):
        moment = datetime.combine(moment, time(0), tzinfo=zone)
    return math.ceil(minute_of(start, moment if moment.tzinfo else moment.replace(tzinfo=zone)))


def open_minutes(filament: Filament) -> int:
    """For so many minutes a spool is dry after it came out."""
    return EVER if filament.open_hours is None else math.floor(60.0 * filament.open_hours)


def most_open_minutes(workshop: Workshop, filament: Filament) -> float:
    """The longest bed that a dry stretch holds, with all handling before it."""
    refit = max(
        (p.nozzle_minutes if p.nozzles else 0) + (p.plate_minutes if p.plates else 0)
        for p in workshop.printers
    )
    handling = workshop.start_minutes + workshop.clear_minutes + workshop.change_minutes + refit
    return max(0.0, open_minutes(filament) - handling)


def dry_stretches(workshop: Workshop, start: datetime, asked: Asked) -> dict[str, tuple[Stretch, ...]]:
    """Dry stretches of every filament in ``rooms``, in order of time.

    Raises
    ------
    Infeasible
        where nobody is there to put spools in or to take them out
    TooShortError
        where a stretch is over before all of its spools are dry
    """
    return _Laying(workshop, start, asked).run()


def while_wet(
    workshop: Workshop, start: datetime, stretches: Mapping[str, Sequence[Stretch]], asked: Asked
) -> Workshop:
    """The workshop as a search sees it: no filament is printed, and no spool drawn from, that is not dry."""
    zone, unused = zone_of(workshop.attendance, start), _unused(workshop, stretches, asked)

    def gone(since: int, until: int) -> Away:
        return Away(at_minute(start, since, zone), at_minute(start, until, zone))

    filaments = [
        replace(f, away=joined(f.away, [gone(a, b) for a, b in _between(stretches[f.name])], zone))
        if stretches.get(f.name)
        else f
        for f in workshop.filaments
    ]
    spools = []
    for spool in workshop.spools:
        more: list[Away] = [gone(0, EVER)] if spool.name in unused else []
        for n, stretch in enumerate(stretches.get(spool.filament, ())):
            if stretch.loads:
                missed = _missed(spool, stretch, workshop, start)
                more += [gone(stretch.since, stretch.until)] if missed else []
            elif n == 0 and spool.filament not in asked.wet:
                at = dry_minute(spool, workshop, start)
                last = at + open_minutes(workshop.filament(spool.filament)) if at is not None else 0
                more += [gone(max(0, last), stretch.until)] if last < stretch.until else []
        spools.append(replace(spool, away=joined(spool.away, more, zone)) if more else spool)
    return replace(workshop, filaments=tuple(filaments), spools=tuple(spools))


def _unused(workshop: Workshop, stretches: Mapping[str, Sequence[Stretch]], asked: Asked) -> frozenset[str]:
    """Spools that are left on the shelf, of filaments that use but as many as there is room for."""
    found: set[str] = set()
    for name in asked.sole:
        inside = {one for row in stretches.get(name, ()) for load in row.loads for one in load.spools}
        own = [spool for spool in workshop.spools if spool.filament == name]
        own.sort(key=lambda spool: (spool.name not in inside, -spool.grams_left, spool.name))
        found |= {spool.name for spool in own[max(asked.rooms[name], len(inside)) :]}
    return frozenset(found)


def _missed(spool: Spool, stretch: Stretch, workshop: Workshop, start: datetime) -> bool:
    """Whether a spool is not there when the slots of a stretch begin or end, or they have no room for it."""
    if any(spool.name in load.spools for load in stretch.loads):
        return False
    if all(load.spools for load in stretch.loads):
        return True
    first, last = min(one.put_in for one in stretch.loads), max(one.take_out for one in stretch.loads)
    since = _minute(spool.at_hand_from, workshop, start)
    away = minutes_away(spool.away, workshop, start, EVER)
    return (since is not None and since > first) or any(a < last + 1 and b > first for a, b in away)


def _between(stretches: Sequence[Stretch]) -> list[Window]:
    ends = [0, *(one.until for one in stretches)]
    return [(a, one.since) for a, one in zip(ends, stretches, strict=False) if one.since > a]


class _Laying:
    """Slots one after another: the filament that is wet first is given the next."""

    def __init__(self, workshop: Workshop, start: datetime, asked: Asked) -> None:
        self.workshop, self.start, self.asked = workshop, start, asked
        self.dryer = workshop.dryer or Dryer()
        self.there = windows(workshop.attendance, start, DAYS)
        self.closes = [until - 1 for _, until in self.there]  # the last minute at which a visit can begin
        self.loads = [self._lies(load) for load in asked.inside]
        self.before = [replace(self._lies(load), spools=()) for load in asked.before]
        self.found: dict[str, list[Stretch]] = {name: [] for name in asked.rooms}

    def run(self) -> dict[str, tuple[Stretch, ...]]:
        """Stretches by filament."""
        heap = []
        for rank, name in enumerate(self.asked.rooms):
            heap.append((self._first(name), rank, name))
        heapq.heapify(heap)
        while heap:
            ready, rank, name = heapq.heappop(heap)
            made = self._stretch(name, ready)
            if made is None:
                continue
            self.found[name].append(made)
            if made.until < EVER and len(self.found[name]) < MOST_STRETCHES:
                heapq.heappush(heap, (made.until, rank, name))
        return {name: tuple(rows) for name, rows in self.found.items()}

    def _first(self, name: str) -> int:
        """When its first slot may begin; a stretch that is dry already, or is being dried, comes before."""
        filament = self.workshop.filament(name)
        if not any(load.filament == name for load in self.loads) and name not in self.asked.wet:
            dry = [
                at + open_minutes(filament)
                for spool in self.workshop.spools
                if spool.filament == name
                and (at := dry_minute(spool, self.workshop, self.start)) is not None
                and at <= 0
            ]
            if dry and max(dry) > 0:
                last = min(EVER, max(dry))
                self.found[name].append(Stretch(0, last))
                return max(last, self.asked.busy.get(name, 0))
        return max(self._at_hand(name), self.asked.busy.get(name, 0))

    def _at_hand(self, name: str) -> int:
        """When the first of its spools is there; at the start where the shelf holds none."""
        since = [
            _minute(spool.at_hand_from, self.workshop, self.start) or 0
            for spool in self.workshop.spools
            if spool.filament == name and spool.grams_left > 0.0
        ]
        return max(0, min(since, default=0))

    def _lies(self, load: DryerLoad) -> Load:
        """What is in a dryer when the plan begins."""
        since = math.floor(minute_of(self.start, load.put_in))
        until = math.ceil(minute_of(self.start, load.take_out))
        return Load(load.dryer, load.filament, since, until, len(load.spools), load.spools)

    def _stretch(self, name: str, ready: int) -> Stretch | None:
        """The next stretch; ``None`` beyond what is laid out."""
        if ready >= EVER:
            return None
        first = not self.found[name]
        mine = [load for load in self.loads if load.filament == name and load.spools] if first else []
        left = self.asked.rooms[name] - sum(load.room for load in mine)
        left = 0 if mine and name not in self.asked.more else left
        while left > 0:
            load = self._load(name, ready, left, alone=not mine)
            if load is None:
                if first:
                    raise _nobody(name)
                return None
            self.loads.append(load)
            mine.append(load)
            left -= load.room
        out = [load.take_out for load in mine]
        until = min(EVER, min(out) + open_minutes(self.workshop.filament(name)))
        if max(out) >= until:
            raise TooShortError(name, self.asked.rooms[name])
        return Stretch(max(out), until, tuple(mine))

    def _load(self, name: str, ready: int, wanted: int, *, alone: bool) -> Load | None:
        """The first slot with room for one spool at least.

        Where it is alone in its stretch, one of the earlier plan that is not much later.
        """
        minutes = math.ceil(60.0 * (self.workshop.filament(name).dry_hours or 0.0))
        first = self._first_load(name, ready, wanted, minutes)
        if first is not None and alone:
            for one in self.before:
                soon = ready <= one.put_in <= first.take_out + MINUTES_PER_DAY
                if one.filament == name and soon and self._holds(one, minutes):
                    room = min(wanted, self._room(one.dryer, name, one.put_in, one.take_out))
                    if room > 0:
                        return replace(one, room=room)
        return first

    def _holds(self, one: Load, minutes: int) -> bool:
        """Whether a slot of an earlier plan can still be kept."""
        there = all(self._attended(at) == at for at in (one.put_in, one.take_out))
        return there and one.dryer <= self.dryer.count and one.take_out - one.put_in >= minutes

    def _first_load(self, name: str, ready: int, wanted: int, minutes: int) -> Load | None:
        for begin, end in self._to_openings(ready, minutes) if name in self.asked.aligned else ():
            found = self._in_a_dryer(name, begin, end, wanted)
            if found is not None:
                return found
        ends = sorted({load.take_out for load in self.loads if load.take_out > ready})
        for at in [ready, *ends]:
            put_in = self._attended(at)
            take_out = None if put_in is None else self._attended(put_in + minutes)
            if put_in is None or take_out is None:
                return None
            found = self._in_a_dryer(name, put_in, take_out, wanted)
            if found is not None:
                return found
        return None

    def _in_a_dryer(self, name: str, put_in: int, take_out: int, wanted: int) -> Load | None:
        """The slot in the first dryer with room for one spool at least."""
        for dryer in range(1, self.dryer.count + 1):
            room = min(wanted, self._room(dryer, name, put_in, take_out))
            if room > 0:
                return Load(dryer, name, put_in, take_out, room)
        return None

    def _room(self, dryer: int, name: str, since: int, until: int) -> int:
        """Spools that fit beside what is in a dryer; what is dried at another warmth fits not."""
        beside = [
            load
            for load in self.loads
            if load.dryer == dryer and load.put_in < until and load.take_out > since
        ]
        warm = self.workshop.filament(name).dry_c
        for load in beside:
            other = self.workshop.filament(load.filament)
            if load.filament != name and (warm is None or other.dry_c != warm):
                return 0
        return self.dryer.spools - sum(load.room for load in beside)

    def _to_openings(self, ready: int, minutes: int) -> Iterator[Window]:
        """Slots, as short as they can be, that end when a window opens that is about as long as any."""
        longest = max((b - a for a, b in self.there), default=0) - HOUR
        for n, (opens, closes) in enumerate(self.there):
            if closes - opens < longest or opens < ready + minutes:
                continue
            last = opens - minutes  # the latest minute that is early enough, if somebody is there then
            begin = max((min(b - 1, last) for a, b in self.there[:n] if a <= last), default=-1)
            if begin >= ready and self._attended(begin + minutes) == opens:
                yield begin, opens

    def _attended(self, minute: int) -> int | None:
        """The first minute from there on at which somebody is there for a minute."""
        n = bisect_right(self.closes, minute - 1)
        return None if n >= len(self.there) else max(minute, self.there[n][0])


def _nobody(name: str) -> Infeasible:
    return Infeasible(
        f"nobody is there to put {name} into the dryer and to take it out again within {DAYS} days.",
        where="attendance",
        next_step="Add or lengthen attendance windows, or leave needs_drying out for it.",
    )
