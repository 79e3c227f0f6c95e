"""All that is needed of a plan to live through it, now or later, without planning anew."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from planner.model.risk import Chances
from planner.scheduling.simulation.presence_kernel import Dryers, Workplace


@dataclass(frozen=True, slots=True)
class LivableBed:
    """A bed that runs: its printer by number, its filament, the grams laid and purged as planned."""

    name: str
    printer: int
    filament: str
    grams: float
    purge_g: float


@dataclass(frozen=True, slots=True)
class Livable:
    """A timed plan with its workplace and its chances; the worlds that are asked for are yet to be said.

    ``zone`` names the clock by which moments are told, ``local`` whether the attendance is told by it; else
    they are told as the start is. Beds are numbered as the runs are.
    """

    start: datetime
    finish: datetime
    zone: str
    local: bool
    printers: tuple[str, ...]
    beds: tuple[LivableBed, ...]
    run_purge_g: float
    change_purge_g: float
    chances: Chances
    work: Workplace
    dryers: Dryers
