"""Airframe mass, balance and cost.

Axes: x runs aft from the datum, y to the right wing tip, z up; a station is an x. Moments are
grams times millimetres about the datum.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Place:
    """Where the centroid of a thing sits: x aft of the datum, y to the right, z up.

    ``across_mm`` and ``up_mm`` are ``None`` when not known; ``found`` says how it was found.
    """

    station_mm: float
    across_mm: float | None = None
    up_mm: float | None = None
    found: str = "given"


@dataclass(frozen=True, slots=True)
class MassItem:
    """One line of the mass table: a piece, a fitting or a finish item.

    ``spread`` is the relative standard deviation of this item alone; ``spread_shared`` is the one
    that it shares with all items of the same ``filament``, or of the same ``finish`` (glue, primer,
    paint). ``carried`` are grams of a finish by piece, where they sit at that piece's own centroid. ``loads``
    stand in place of ``spread_shared`` where a ledger has taught: two items err together by their product.
    """

    what: str
    kind: str
    section: str
    mass_g: float
    station_mm: float | None
    across_mm: float | None = None
    up_mm: float | None = None
    filament: str = ""
    spread: float = 0.0
    spread_shared: float = 0.0
    movable: bool = False
    hand: str = "none"
    movable_mm: tuple[float, float] | None = None
    finish: str = ""
    carried: tuple[tuple[str, float], ...] = ()
    loads: tuple[float, ...] = ()

    @property
    def shares_with(self) -> str:
        """What all items that err together have in common: their filament, or their kind of finish."""
        return self.filament or self.finish


@dataclass(frozen=True, slots=True)
class Mass:
    """Flying mass; low and high are the 10 and 90 % values.

    ``notes`` are the assumptions behind it and the limits that it breaks.
    """

    items: tuple[MassItem, ...]
    printed_g: float
    fittings_g: float
    finish_g: float
    total_g: float
    low_g: float
    high_g: float
    target_g: float | None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Move:
    """How far a movable fitting goes to bring the balance towards the middle of the window.

    Fittings that say between which stations they have room (``room_mm``) go one after the other, each as
    far as is left to do and its room allows; ``balance_mm`` is where the airframe balances then. Fittings
    without such a range are told each by itself, on top of those.
    """

    what: str
    mass_g: float
    station_mm: float
    by_mm: float
    room_mm: tuple[float, float] | None = None
    balance_mm: float | None = None

    @property
    def to_mm(self) -> float:
        """The station at which it sits then."""
        return self.station_mm + self.by_mm


@dataclass(frozen=True, slots=True)
class Ballast:
    """Grams to add at a station (``beside`` names what sits there) to reach the middle of the window."""

    mass_g: float
    station_mm: float
    beside: str


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """What ten more grams at a station do to the balance: ``moves_mm`` aft, negative forward."""

    what: str
    station_mm: float
    moves_mm: float


@dataclass(frozen=True, slots=True)
class OptionEffect:
    """What the airframe weighs and where it balances with one choice of one option."""

    option: str
    choice: str
    planned: bool
    total_g: float
    station_mm: float | None
    inside: bool | None


@dataclass(frozen=True, slots=True)
class Balance:
    """Centre of gravity aft of the datum; ``None`` where nothing has a station.

    ``low_mm`` and ``high_mm`` are its 10 and 90 % values. ``static_margin`` is a share of the mean
    chord. ``across_mm`` is the centre of gravity to the right of the plane of symmetry.
    """

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
    low_mm: float | None = None
    high_mm: float | None = None
    mean_chord_mm: float | None = None
    mean_chord_le_mm: float | None = None
    neutral_point_mm: float | None = None
    static_margin: float | None = None
    across_mm: float | None = None
    left_g: float = 0.0
    right_g: float = 0.0
    moves: tuple[Move, ...] = ()
    ballast: Ballast | None = None
    sensitivity: tuple[Sensitivity, ...] = ()
    wing_loading_band: str = ""
    wing_cube_loading_band: str = ""
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the cost sheet; money that is not known is ``None``, never zero.

    ``amount_minor`` is ``quantity x unit_price`` rounded half up, as both are written here.
    ``in_total`` is false for lines that are shown apart.
    """

    what: str
    quantity: Decimal
    unit: str
    unit_price: Decimal | None
    amount_minor: int | None
    kind: str
    source: str
    in_total: bool = True


@dataclass(frozen=True, slots=True)
class Cost:
    """All lines; totals by kind and in all leave out (and name) lines without a price.

    ``total_minor`` is the sum of ``totals_minor``; ``apart_minor`` holds the kinds that are shown
    apart because they would count money twice (whole spools beside the grams used).
    ``by_section_minor`` divides the total among the sections; what belongs to none has the name "".
    """

    currency: str
    lines: tuple[CostLine, ...]
    totals_minor: Mapping[str, int]
    total_minor: int
    left_out: tuple[str, ...] = field(default=())
    apart_minor: Mapping[str, int] = field(default_factory=dict)
    by_section_minor: Mapping[str, int] = field(default_factory=dict)
