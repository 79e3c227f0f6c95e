"""Filaments and the spools that they come on."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from datetime import date

from planner.errors import RecordError
from planner.model.away import Away, check_away
from planner.model.checks import number, words
from planner.model.colour import check_colour
from planner.model.fit import Fit
from planner.model.recipe import Recipe

FoamCurve = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Filament:
    """A stock item.

    ``deposited_g_per_cm3`` is the density of what lies on the bed: for a foaming filament it is
    less than ``solid_g_per_cm3``, for all others equal. Spreads are relative standard deviations:
    one shared by all pieces of the filament, one of each piece for itself.
    ``price_minor`` is money for one spool in minor units, ``None`` when it is not known;
    ``price_low_minor`` and ``price_high_minor`` say what such a spool is seen at. ``dry_c`` and
    ``dry_hours`` are how it is dried before printing. ``foam_curve`` is deposited density over
    nozzle temperature, (C, g/cm3) rising in temperature, and ``foam_source`` where it came from.
    ``longest_run_h`` and ``most_pieces`` limit every bed of it; ``most_pieces_why`` is the reason, where
    the number is the built-in one for foam. Nothing is printed in it while it is ``away``. It may
    ask for a nozzle of its own, for one that fibres do not wear out, or for a plate. One that
    ``needs_drying`` is in the dryer for ``dry_hours`` before it is printed, and again once a spool was out of
    it for ``open_hours`` (``None``: it stays dry).
    One ``colour`` of a stock item that a section asks for is a filament by itself, made ``of`` that item.

    Examples
    --------
    >>> import planner
    >>> foam = planner.Filament("foam", "PLA", solid_g_per_cm3=1.24, deposited_g_per_cm3=0.62, foaming=True)
    >>> foam.flow_fraction
    0.5
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
    dry_c: float | None = None
    dry_hours: float | None = None
    price_low_minor: int | None = None
    price_high_minor: int | None = None
    foam_curve: FoamCurve = ()
    foam_source: str = ""
    longest_run_h: float | None = None
    most_pieces: int | None = None
    most_pieces_why: str = ""
    away: tuple[Away, ...] = ()
    nozzle_mm: float | None = None
    hardened_nozzle: bool = False
    plate: str = ""
    colour: str = ""
    of: str = ""
    needs_drying: bool = False
    open_hours: float | None = None

    def __post_init__(self) -> None:
        words(self.name, "filament name")
        key = f"filament {self.name!r}: "
        check_away(self.away, key)
        number(self.solid_g_per_cm3, key + "solid_g_per_cm3", low=0.1, high=25.0)
        number(self.deposited_g_per_cm3, key + "deposited_g_per_cm3", low=0.05, high=25.0)
        if self.deposited_g_per_cm3 > self.solid_g_per_cm3:
            raise RecordError(
                f"{key}deposited_g_per_cm3 = {self.deposited_g_per_cm3:g} is above"
                f" solid_g_per_cm3 = {self.solid_g_per_cm3:g}: no bead is denser than its filament.",
                next_step="Leave deposited_g_per_cm3 out for a filament that does not foam.",
            )
        number(self.diameter_mm, key + "diameter_mm", low=0.5, high=10.0)
        number(self.spool_g, key + "spool_g", low=1.0, high=100_000.0)
        for field, name in (
            ("price_minor", "price"),
            ("price_low_minor", "price_low"),
            ("price_high_minor", "price_high"),
        ):
            if getattr(self, field) is not None:
                number(getattr(self, field), key + name, low=0)
        number(self.nozzle_c, key + "nozzle_c", low=20.0, high=600.0)
        number(self.bed_c, key + "bed_c", low=0.0, high=300.0)
        number(self.flow_limit_mm3_s, key + "flow_limit_mm3_s", above=0.0, high=1000.0)
        if self.speed_limit_mm_s is not None:
            number(self.speed_limit_mm_s, key + "speed_limit_mm_s", low=0.5, high=2000.0)
        number(self.watch_minutes, key + "watch_minutes", low=0, high=24 * 60)
        number(self.spread_shared, key + "spread_shared", low=0.0, high=1.0)
        number(self.spread_piece, key + "spread_piece", low=0.0, high=1.0)
        if self.longest_run_h is not None:
            number(self.longest_run_h, key + "longest_run_h", above=0.0, high=1000.0)
        if self.most_pieces is not None:
            number(self.most_pieces, key + "most_pieces", low=1, high=10_000)
        if self.dry_c is not None:
            number(self.dry_c, key + "dry_c", low=20.0, high=200.0)
        if self.dry_hours is not None:
            number(self.dry_hours, key + "dry_hours", low=0.0, high=1000.0)
        self._check_drying(key)
        if self.nozzle_mm is not None:
            number(self.nozzle_mm, key + "nozzle_mm", low=0.05, high=5.0)
        if self.plate:
            words(self.plate, key + "plate")
        for celsius, density in self.foam_curve:
            number(celsius, key + "foam_curve temperature", low=20.0, high=600.0)
            number(density, key + "foam_curve density", low=0.05, high=self.solid_g_per_cm3)
        warmth = [celsius for celsius, _ in self.foam_curve]
        if any(b <= a for a, b in itertools.pairwise(warmth)):
            raise RecordError(f"{key}foam_curve must rise in temperature from row to row.")

    def _check_drying(self, key: str) -> None:
        if self.open_hours is not None:
            number(self.open_hours, key + "open_hours", above=0.0, high=10_000.0)
        if self.needs_drying and not self.dry_hours:
            raise RecordError(
                f"{key}needs_drying = true, and nothing says for how long.",
                next_step="Add dry_hours as its maker's sheet tells them.",
            )
        if self.open_hours is not None and not self.needs_drying:
            raise RecordError(
                f"{key}open_hours = {self.open_hours:g} says when to dry it again, and it is not dried.",
                next_step="Add needs_drying = true, or leave open_hours out.",
            )

    def asks(self, recipe: Recipe | None = None) -> Fit:
        """Nozzle and plate for a bed of it; the recipe's word goes before its own."""
        nozzle = recipe.nozzle_mm if recipe is not None else None
        plate = recipe.plate if recipe is not None else ""
        mm = self.nozzle_mm if nozzle is None else nozzle
        return Fit(mm, self.hardened_nozzle, plate or self.plate)

    @property
    def stock(self) -> str:
        """The name of the stock item, whatever its colour."""
        return self.of or self.name

    def coloured(self, colour: str) -> Filament:
        """The same stock item in one colour, under a name of its own."""
        return replace(self, name=f"{self.stock} {colour}", colour=colour, of=self.stock)

    @property
    def flow_fraction(self) -> float:
        """Share of the plain flow that fills the same bead (mass is conserved)."""
        return self.deposited_g_per_cm3 / self.solid_g_per_cm3

    def foamed_g_per_cm3(self, nozzle_c: float) -> float:
        """Deposited density at a nozzle temperature.

        Linear between the rows of ``foam_curve`` and level outside them; without a curve, the
        deposited density as it stands.
        """
        rows = self.foam_curve
        if not rows:
            return self.deposited_g_per_cm3
        if nozzle_c <= rows[0][0]:
            return rows[0][1]
        for (cooler, dense), (warmer, light) in itertools.pairwise(rows):
            if nozzle_c <= warmer:
                return dense + (light - dense) * (nozzle_c - cooler) / (warmer - cooler)
        return rows[-1][1]

    def at_nozzle(self, nozzle_c: float) -> Filament:
        """The same filament printed at another nozzle temperature: density and flow follow."""
        return replace(self, nozzle_c=nozzle_c, deposited_g_per_cm3=self.foamed_g_per_cm3(nozzle_c))

    @property
    def metres_per_gram(self) -> float:
        """Length of one gram as it lies on the spool (Source: geometry, round cross-section)."""
        area_mm2 = math.pi * self.diameter_mm**2 / 4.0
        return 1.0 / (self.solid_g_per_cm3 * area_mm2)  # g/cm3 * mm2 = g/m


@dataclass(frozen=True, slots=True)
class Spool:
    """One reel and the grams left on it.

    ``at_hand_from`` is the day, or the moment on the clock of the workshop, from which it can be used;
    while it is ``away`` nothing draws from it. ``dried`` is the day, or the moment, at which it
    last came out of a dryer.
    ``colour`` and ``lot`` are empty where not told.

    Examples
    --------
    >>> import planner
    >>> planner.Spool("grey 1", "PLA", grams_left=338.0).grams_left
    338.0
    """

    name: str
    filament: str
    grams_left: float
    price_minor: int | None = None
    at_hand_from: date | None = None
    away: tuple[Away, ...] = ()
    colour: str = ""
    dried: date | None = None
    lot: str = ""

    def __post_init__(self) -> None:
        words(self.name, "spool name")
        if self.lot:
            words(self.lot, f"spool {self.name!r}: lot")
        check_colour(self.colour, f"spool {self.name!r}: colour")
        words(self.filament, f"spool {self.name!r}: filament")
        check_away(self.away, f"spool {self.name!r}: ")
        number(self.grams_left, f"spool {self.name!r}: grams_left", low=0.0, high=100_000.0)
