"""Filaments and the spools that they come on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from planner.model.checks import number, words


@dataclass(frozen=True, slots=True)
class Filament:
    """A stock item.

    ``deposited_g_per_cm3`` is the density of what lies on the bed: for a foaming filament it is
    less than ``solid_g_per_cm3``, for all others equal. Spreads are relative standard deviations:
    one shared by all pieces of the filament, one of each piece for itself.
    ``price_minor`` is money for one spool in minor units, ``None`` when it is not known.
    """

    name: str
    material: str
    solid_g_per_cm3: float
    deposited_g_per_cm3: float
    diameter_mm: float = 1.75
    spool_g: float = 1000.0
    price_minor: int | None = None
    nozzle_c: float = 215.0
    bed_c: float = 60.0
    softening_c: float | None = None
    flow_limit_mm3_s: float = 10.0
    speed_limit_mm_s: float | None = None
    foaming: bool = False
    flexible: bool = False
    brittle: bool = False
    unattended_run: bool = True
    unattended_start: bool = False
    watch_minutes: int = 0
    spread_shared: float = 0.03
    spread_piece: float = 0.01
    notes: tuple[str, ...] = ()
    source: str = "given"

    def __post_init__(self) -> None:
        words(self.name, "filament name")
        key = f"filament {self.name!r}: "
        number(self.solid_g_per_cm3, key + "solid_g_per_cm3", low=0.1, high=25.0)
        number(self.deposited_g_per_cm3, key + "deposited_g_per_cm3", low=0.05, high=25.0)
        number(self.diameter_mm, key + "diameter_mm", low=0.5, high=10.0)
        number(self.spool_g, key + "spool_g", low=1.0, high=100_000.0)
        if self.price_minor is not None:
            number(self.price_minor, key + "price", low=0)
        number(self.nozzle_c, key + "nozzle_c", low=20.0, high=600.0)
        number(self.bed_c, key + "bed_c", low=0.0, high=300.0)
        number(self.flow_limit_mm3_s, key + "flow_limit_mm3_s", above=0.0, high=1000.0)
        if self.speed_limit_mm_s is not None:
            number(self.speed_limit_mm_s, key + "speed_limit_mm_s", low=0.5, high=2000.0)
        number(self.watch_minutes, key + "watch_minutes", low=0, high=24 * 60)
        number(self.spread_shared, key + "spread_shared", low=0.0, high=1.0)
        number(self.spread_piece, key + "spread_piece", low=0.0, high=1.0)

    @property
    def flow_fraction(self) -> float:
        """Share of the plain flow that fills the same bead (mass is conserved)."""
        return self.deposited_g_per_cm3 / self.solid_g_per_cm3

    @property
    def metres_per_gram(self) -> float:
        """Length of one gram as it lies on the spool (Source: geometry, round cross-section)."""
        area_mm2 = math.pi * self.diameter_mm**2 / 4.0
        return 1.0 / (self.solid_g_per_cm3 * area_mm2)  # g/cm3 * mm2 = g/m


@dataclass(frozen=True, slots=True)
class Spool:
    """One reel and the grams left on it."""

    name: str
    filament: str
    grams_left: float
    price_minor: int | None = None

    def __post_init__(self) -> None:
        words(self.name, "spool name")
        words(self.filament, f"spool {self.name!r}: filament")
        number(self.grams_left, f"spool {self.name!r}: grams_left", low=0.0, high=100_000.0)
