"""What a plan says of a bed, and what it is made with."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from planner.model.batch import Batch
from planner.model.filament import Filament
from planner.model.printer import Printer


@dataclass(frozen=True, slots=True)
class Planned:
    """What a plan says of a bed, and what it is made with.

    ``grams`` are by piece; ``taught`` is how many times as long a printer was learned to take. ``longest``
    is how many minutes a bed may last, and who says so. ``spools`` is from how many the plan draws.
    """

    batch: Batch
    printer: Printer
    filament: Filament
    grams: Mapping[str, float]
    filaments: tuple[Filament, ...] = ()
    taught: float = 1.0
    longest: tuple[float, str] = (math.inf, "")
    spools: int = 1

    @property
    def metres(self) -> float:
        """Filament for all that is deposited."""
        return self.batch.mass_g * self.filament.metres_per_gram
