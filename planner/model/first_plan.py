"""What the first plan of a build promised, to be held against what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime


@dataclass(frozen=True, slots=True)
class FirstPlan:
    """Mass with its 10 and 90 % values, balance, finish, hours, cost, and grams by spool.

    What the file of the first plan does not tell is ``None``. ``filament_g`` are with what is purged.
    """

    start: datetime
    finish: datetime
    mass_g: float | None = None
    low_g: float | None = None
    high_g: float | None = None
    printed_g: float | None = None
    station_mm: float | None = None
    print_hours: float | None = None
    cost_minor: int | None = None
    beds: int = 0
    spools: Mapping[str, float] = field(default_factory=dict)

    @property
    def filament_g(self) -> float:
        """Grams of all spools."""
        return sum(self.spools.values())
