"""What may go wrong with a plan: what is asked, what is taken to be likely, and what follows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from planner.model.checks import number

MOST_WORLDS = 20_000
MOST_MISSED = 0.9  # a person who comes more seldom than that wants other hours


@dataclass(frozen=True, slots=True)
class RiskAsked:
    """In how many simulated worlds a plan is lived through, and the chance that a visit is missed."""

    worlds: int = 1000
    missed: float = 0.0

    def __post_init__(self) -> None:
        number(self.worlds, "worlds of the risk", low=1, high=MOST_WORLDS)
        number(self.missed, "chance of a missed visit", low=0.0, high=MOST_MISSED)


@dataclass(frozen=True, slots=True)
class Chances:
    """All that the worlds are drawn with.

    ``failures`` are per hour, by printer; ``spreads`` standard deviations of ln(minutes / planned) of a
    printer, which all of its beds have in common, ``rest`` that of each bed by itself.
    """

    asked: RiskAsked
    seed: int
    failures: Mapping[str, float] = field(default_factory=dict)
    spreads: Mapping[str, float] = field(default_factory=dict)
    rest: float = 0.0

    def __post_init__(self) -> None:
        for name, rate in self.failures.items():
            number(rate, f"failures per hour of {name!r}", low=0.0, high=1.0)
        for name, spread in self.spreads.items():
            number(spread, f"spread of the minutes of {name!r}", low=0.0, high=1.0)
        number(self.rest, "spread of the minutes of a bed", low=0.0, high=1.0)


@dataclass(frozen=True, slots=True)
class BedRisk:
    """How far the finish hangs on a bed.

    ``decides`` is the share of worlds in which it lies on the chain that decides the finish, ``fails`` that
    in which it fails at least once; ``sooner_h`` how much sooner the finish would be on average, were the
    bed printed in its minutes and without failing.
    """

    bed: str
    decides: float
    fails: float
    sooner_h: float


@dataclass(frozen=True, slots=True)
class FilamentRisk:
    """Grams of a filament with its purges: as planned, and what suffices in half and in 90 % of worlds."""

    filament: str
    planned_g: float
    half_g: float
    most_g: float


@dataclass(frozen=True, slots=True)
class FinishShare:
    """A moment until which all is printed in that share of the worlds; ``None`` where it never is."""

    share: float
    at: datetime | None


@dataclass(frozen=True, slots=True)
class Risk:
    """A plan lived through in many worlds.

    ``finish`` has rising shares, ``half`` and ``most`` among them; ``kept`` is the share of worlds that end
    as planned or before, ``unfinished`` that in which somebody comes too seldom to end at all.
    ``beds`` are those that the finish hangs on most, first the one that does so in most worlds.
    """

    chances: Chances
    finish: tuple[FinishShare, ...]
    kept: float
    unfinished: float
    filaments: tuple[FilamentRisk, ...]
    beds: tuple[BedRisk, ...]

    def at(self, share: float) -> datetime | None:
        """The moment until which all is printed in that share of the worlds.

        Raises
        ------
        KeyError
            where that share is not told
        """
        return {one.share: one.at for one in self.finish}[share]


@dataclass(frozen=True, slots=True)
class RiskOfPlan:
    """What may go wrong with a plan, and what is told of the plan beside it; ``zone`` names the clock."""

    risk: Risk
    start: datetime
    finish: datetime
    zone: str
