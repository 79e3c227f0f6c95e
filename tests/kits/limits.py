"""What the trade limits and the shelf allows, drawn at random for a job: who is there, spools, beds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

import numpy as np

from planner.model.attendance import Absence, Attendance, WeeklyWindow
from planner.model.filament import Spool
from planner.model.workshop import NEVER_BUY, Buy, Workshop
from planner.pipeline.job import Job

T = TypeVar("T")
BUYS: tuple[Buy, ...] = ("never", "if needed", "for speed")


def maybe(rng: np.random.Generator, share: float, value: T) -> T | None:
    """The value in a share of all cases."""
    return value if rng.random() < share else None


def with_limits(job: Job, rng: np.random.Generator) -> Job:
    """The job with limits of all kinds, spools that come later, one of the ways to buy, and persons."""
    parts = tuple(replace(part, alone=bool(rng.random() < 0.15)) for part in job.airframe.parts)
    workshop = with_spools_later(limited(job.workshop, rng), rng, job.start)
    workshop = replace(workshop, attendance=people(workshop.attendance, rng, job.start.date()))
    return replace(job, airframe=replace(job.airframe, parts=parts), workshop=workshop)


def limited(workshop: Workshop, rng: np.random.Generator) -> Workshop:
    """Limits of printers (alike within a kind or not), of filaments, and of the workshop."""

    def some() -> dict[str, Any]:
        return {
            "longest_run_h": maybe(rng, 0.25, round(float(rng.uniform(3.0, 12.0)), 1)),
            "most_pieces": maybe(rng, 0.3, int(rng.integers(2, 6))),
        }

    return replace(
        workshop,
        printers=tuple(replace(printer, **some()) for printer in workshop.printers),
        filaments=tuple(replace(filament, **some()) for filament in workshop.filaments),
        longest_run_h=maybe(rng, 0.25, round(float(rng.uniform(4.0, 16.0)), 1)),
        pairs_together=bool(rng.random() < 0.4),
        mix_sections=bool(rng.random() < 0.6),
    )


def with_spools_later(workshop: Workshop, rng: np.random.Generator, start: datetime) -> Workshop:
    """One of the ways to buy; where nothing is bought there are spools, some of which come later."""
    buy = BUYS[int(rng.integers(0, 3))]
    spools = list(workshop.spools)
    if buy == NEVER_BUY:
        spools += [Spool(f"full {name}", name, 800.0) for name in ("PLA", "foaming PLA")]
    later = [replace(spool, at_hand_from=moment(rng, start)) for spool in spools]
    return replace(workshop, buy=buy, spools=tuple(later))


def moment(rng: np.random.Generator, start: datetime) -> date | None:
    """Nothing, a day, a clock of the workshop, or a moment in another zone, some days after the start."""
    then = start + timedelta(hours=float(rng.uniform(-30.0, 100.0)))
    then = then.replace(second=0, microsecond=0)
    told = (None, None, then.date(), then.replace(tzinfo=None), then.astimezone(ZoneInfo("Asia/Kolkata")))
    return told[int(rng.integers(0, len(told)))]


def people(there: Attendance, rng: np.random.Generator, day: date) -> Attendance:
    """Perhaps a second person at hours of their own, perhaps days on which one or all are away."""
    weekly, absences = there.weekly, []
    if rng.random() < 0.4:
        weekly = (*weekly, WeeklyWindow((0, 2, 4, 5, 6), time(16), time(22), "Ada"))
        if rng.random() < 0.6:
            absences.append(_away(rng, day, "Ada"))
    if rng.random() < 0.4:
        absences.append(_away(rng, day, ""))
    return replace(there, weekly=weekly, absences=tuple(absences))


def _away(rng: np.random.Generator, day: date, who: str) -> Absence:
    first = day + timedelta(days=int(rng.integers(0, 4)))
    return Absence(first, first + timedelta(days=int(rng.integers(0, 3))), who)
