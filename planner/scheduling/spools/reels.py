"""Spools while they are dealt out: what is on each, where it is, and new ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time

from planner.model.attendance import Attendance
from planner.model.away import Span, spans_of
from planner.model.filament import Filament, Spool
from planner.model.schedule import Run, SpoolUse
from planner.model.workshop import Workshop
from planner.scheduling.problem.calendar import zone_of

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
    since: datetime | None = None
    apart: bool = True
    away: tuple[Span, ...] = ()
    lot: str = ""

    @property
    def of_lot(self) -> tuple[str, str]:
        """What tells its lot from others: as told, else the spool itself; what is bought is one lot."""
        if self.bought:
            return "new", ""
        return ("lot", self.lot) if self.lot else ("spool", self.name)

    @property
    def left(self) -> int:
        """What is still on it."""
        return self.before - self.used - self.purged

    def serves(self, run: Run, mounted: datetime) -> bool:
        """Whether it can be put on the run's printer when that is handled."""
        if self.since is not None and self.since > mounted:
            return False
        if self.gone(mounted, run.end):
            return False
        return (
            not self.apart or self.printer == run.printer or self.free_at is None or self.free_at <= mounted
        )

    def gone(self, since: datetime, until: datetime) -> bool:
        """Whether it is away at some time between two moments."""
        return any(
            begin.timestamp() < until.timestamp() and (end is None or end.timestamp() > since.timestamp())
            for begin, end in self.away
        )


def units(grams: float) -> int:
    """Whole hundredths of a gram."""
    return round(grams * UNITS_PER_GRAM)


def at_hand(spool: Spool, attendance: Attendance, start: datetime) -> datetime | None:
    """The moment from which a spool can be used, told in the zone of the workshop; ``None``: it is there."""
    since: date | None = spool.at_hand_from
    if since is None:
        return None
    zone = zone_of(attendance, start)
    if not isinstance(since, datetime):
        return datetime.combine(since, time(0), tzinfo=zone)
    return since.replace(tzinfo=zone) if since.tzinfo is None else since.astimezone(zone)


def shelf_of(name: str, workshop: Workshop, start: datetime) -> list[Reel]:
    """Spools of a filament that the workshop has, from when they are at hand."""
    return [
        Reel(
            s.name,
            s.filament,
            bought=False,
            before=math.floor(s.grams_left * UNITS_PER_GRAM + 1e-6),
            price_minor=s.price_minor,
            since=at_hand(s, workshop.attendance, start),
            away=spans_of(s.away, zone_of(workshop.attendance, start)),
            lot=s.lot,
        )
        for s in workshop.spools
        if s.filament == name
    ]


def fitting_reel(
    reels: Sequence[Reel], run: Run, filament: Filament, need: int, mounted: datetime
) -> Reel | None:
    """The spool on the printer if it suffices, else the one with the least left that does."""
    fitting = [r for r in reels if r.filament == filament.name and r.left >= need and r.serves(run, mounted)]
    if not fitting:
        return None
    return min(fitting, key=lambda r: (r.printer != run.printer, r.left))


def bought_reel(reels: list[Reel], filament: Filament, *, apart: bool = True) -> Reel:
    """A new spool under the next free name, beside the others."""
    taken = {reel.name for reel in reels}
    number = 1
    while (name := f"new {filament.name} {number}") in taken:
        number += 1
    return new_reel(reels, name, filament, apart=apart)


def new_reel(reels: list[Reel], name: str, filament: Filament, *, apart: bool = True) -> Reel:
    """A new spool under this name, beside the others."""
    reel = Reel(name, filament.name, True, units(filament.spool_g), filament.price_minor, apart=apart)
    reels.append(reel)
    return reel


def use_of(reel: Reel) -> SpoolUse:
    """What a plan tells of a spool."""
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
