"""Where the airframe balances, and what moves that."""

from __future__ import annotations

from typing import Annotated

from msgspec import UNSET

from planner.plan_record.values import Amount, Pair, Record, Seldom, says


class MoveRecord(Record, frozen=True, kw_only=True):
    """A fitting that could be moved, how far, and where that balances."""

    what: str
    mass_g: float
    station_mm: float
    by_mm: float
    room_mm: Seldom[Pair | None] = UNSET
    balance_mm: Seldom[float | None] = UNSET


class BallastRecord(Record, frozen=True, kw_only=True):
    """Ballast that would bring the balance into its window."""

    mass_g: float
    station_mm: float
    beside: str


class SensitivityRecord(Record, frozen=True, kw_only=True):
    """What ten grams more at a station do to the balance."""

    what: str
    station_mm: float
    moves_mm: float


class OptionRecord(Record, frozen=True, kw_only=True):
    """Mass and balance with another choice of an option."""

    option: str
    choice: str
    planned: bool
    total_g: Amount
    station_mm: float | None
    inside: bool | None


class BalanceRecord(Record, frozen=True, kw_only=True):
    """Stations in mm aft of the datum; further fields may stand in it."""

    station_mm: float | None
    window_mm: Pair | None
    inside: bool | None
    placed_g: Amount
    unplaced: list[str]
    unplaced_g: Amount
    percent_chord: float | None
    advice: list[str]
    wing_loading_g_per_dm2: Amount | None
    wing_cube_loading_kg_per_m3: Amount | None
    low_mm: float | None
    high_mm: float | None
    across_mm: float | None
    static_margin: float | None
    notes: list[str]
    mean_chord_mm: float | None
    mean_chord_le_mm: float | None
    neutral_point_mm: float | None
    left_g: Amount
    right_g: Amount
    wing_loading_band: str
    wing_cube_loading_band: str
    moves: list[MoveRecord]
    ballast: BallastRecord | None
    sensitivity: Annotated[
        list[SensitivityRecord],
        says("What ten grams more at a station do to the balance, mm aft."),
    ]
    options: list[OptionRecord]
