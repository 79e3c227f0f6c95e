"""Which batch runs when on which printer, and from which spools."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from planner.model.drying import DryerLoad

RUNNING = "running"


@dataclass(frozen=True, slots=True)
class Draw:
    """Grams that a run takes from one spool, its purge not included.

    ``before_g`` of them (and the purge, where there are any) it had taken before the spool was weighed.
    """

    spool: str
    grams: float
    before_g: float = 0.0


@dataclass(frozen=True, slots=True)
class Run:
    """One batch on one printer; ``end`` is the end of printing, clearing comes after.

    ``mark`` is empty for a run that is planned, ``running`` for one that had begun before the plan was made.
    Such a one may run dry: at ``dry_at``, lacking ``short_g``, for nobody is there to change the spool.
    """

    name: str
    batch: str
    printer: str
    start: datetime
    end: datetime
    attended_start: bool
    draws: tuple[Draw, ...]
    purge_g: float
    changed_from: str | None = None
    mark: str = ""
    dry_at: datetime | None = None
    short_g: float = 0.0

    @property
    def total_g(self) -> float:
        """Grams of its bed: what it draws, and what it lacks."""
        return sum(draw.grams for draw in self.draws) + self.short_g

    def charge(self, n: int) -> tuple[float, float]:
        """Grams and purge that its draw ``n`` takes from what the spool was told to hold."""
        draw = self.draws[n]
        return draw.grams - draw.before_g, self.purge_g if n == 0 and draw.before_g == 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class SpoolUse:
    """What a plan does to one spool."""

    spool: str
    filament: str
    bought: bool
    grams_before: float
    grams_used: float
    grams_purged: float
    grams_left: float
    price_minor: int | None


@dataclass(frozen=True, slots=True)
class Buying:
    """What new spools beyond those that the grams need do to a plan.

    ``bought`` says whether the plan buys them; ``other_finish`` is the finish of the plan that does otherwise
    (``None``: no such plan was found), and ``sooner_h`` how much sooner the one with them ends.
    ``price_minor`` is ``None`` where a price is not known.
    """

    spools: int
    price_minor: int | None
    sooner_h: float
    other_finish: datetime | None
    bought: bool


@dataclass(frozen=True, slots=True)
class Visit:
    """One time at which the person has something to do, in the order to do it."""

    at: datetime
    minutes: int
    tasks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Schedule:
    """Runs in order of their start. ``lower_bound_h`` is proved; ``proven_gap`` follows from it.

    The bound holds whatever pieces share a bed where the beds were searched for; ``beds_bound_h`` is one
    that is proved for the beds as they are.
    """

    runs: tuple[Run, ...]
    visits: tuple[Visit, ...]
    finish: datetime
    makespan_h: float
    print_hours: Mapping[str, float]
    lower_bound_h: float | None
    proven_gap: float | None
    interventions: int
    changeovers: int
    beds_bound_h: float | None = None
    buying: Buying | None = None
    drying: tuple[DryerLoad, ...] = ()
