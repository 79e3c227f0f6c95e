"""Dryers, and which spool is in one when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from planner.model.checks import number

MOST_DRYERS = 50
MOST_SPOOLS = 100


@dataclass(frozen=True, slots=True)
class Dryer:
    """Dryers that are alike: how many there are, and how many spools each takes at once.

    Examples
    --------
    >>> import planner
    >>> planner.Dryer(count=2, spools=3).room
    6
    """

    count: int = 1
    spools: int = 1

    def __post_init__(self) -> None:
        number(self.count, "dryer: count", low=1, high=MOST_DRYERS)
        number(self.spools, "dryer: spools", low=1, high=MOST_SPOOLS)

    @property
    def room(self) -> int:
        """Spools that all of them take together."""
        return self.count * self.spools


@dataclass(frozen=True, slots=True)
class DryerLoad:
    """Spools of one filament that go into a dryer, and come out of it, together.

    ``dryer`` counts from 1. At both moments somebody is there for a minute.
    """

    dryer: int
    filament: str
    spools: tuple[str, ...]
    put_in: datetime
    take_out: datetime
