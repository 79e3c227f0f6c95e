"""Airframe mass, balance and cost.

Axes: x runs aft from the datum, y to the right wing tip, z up; a station is an x. Moments are
grams times millimetres about the datum.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class MassItem:
    """One line of the mass table: a piece, a fitting or a finish item."""

    what: str
    kind: str
    section: str
    mass_g: float
    station_mm: float | None


@dataclass(frozen=True, slots=True)
class Mass:
    """Flying mass; low and high are the 10 and 90 % values."""

    items: tuple[MassItem, ...]
    printed_g: float
    fittings_g: float
    finish_g: float
    total_g: float
    low_g: float
    high_g: float
    target_g: float | None


@dataclass(frozen=True, slots=True)
class Balance:
    """Centre of gravity aft of the datum; ``None`` where nothing has a station."""

    station_mm: float | None
    window_mm: tuple[float, float] | None
    inside: bool | None
    placed_g: float
    unplaced: tuple[str, ...]
    unplaced_g: float
    percent_chord: float | None = None
    advice: tuple[str, ...] = ()
    wing_loading_g_per_dm2: float | None = None
    wing_cube_loading_kg_per_m3: float | None = None


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the cost sheet; money that is not known is ``None``, never zero."""

    what: str
    quantity: Decimal
    unit: str
    unit_price: Decimal | None
    amount_minor: int | None
    kind: str
    source: str


@dataclass(frozen=True, slots=True)
class Cost:
    """All lines; totals by kind and in all leave out (and name) lines without a price."""

    currency: str
    lines: tuple[CostLine, ...]
    totals_minor: Mapping[str, int]
    total_minor: int
    left_out: tuple[str, ...] = field(default=())
