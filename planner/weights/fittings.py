"""The built-in table of bought items, and the mass of tubes."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from typing import Any

from planner.errors import RecordError
from planner.model.airframe import Fitting
from planner.units import MM3_PER_CM3, MM_PER_M
from planner.weights.spread import Z_HIGH


def tube_mass_g(outer_mm: float, inner_mm: float, length_mm: float, density_g_per_cm3: float) -> float:
    """Mass of a round tube, or of a rod when ``inner_mm`` is 0.

    Source: geometry, ``pi / 4 (outer^2 - inner^2) x length x density``.

    Raises
    ------
    RecordError
        when the bore is not smaller than the tube
    """
    if not 0.0 <= inner_mm < outer_mm:
        raise RecordError(f"a tube of {outer_mm:g} mm cannot have a bore of {inner_mm:g} mm.")
    area_mm2 = math.pi / 4.0 * (outer_mm**2 - inner_mm**2)
    return area_mm2 * length_mm * density_g_per_cm3 / MM3_PER_CM3


@dataclass(frozen=True, slots=True)
class FittingRow:
    """One class of bought items: the 10 and 90 % masses of one, or of one metre."""

    name: str
    kind: str
    low_g: float
    high_g: float
    per: str
    movable: bool
    source: str

    @property
    def middle_g(self) -> float:
        """The expected mass of one, or of one metre."""
        return (self.low_g + self.high_g) / 2.0

    @property
    def spread(self) -> float:
        """Relative standard deviation that puts 10 and 90 % at the ends of the range."""
        return (self.high_g - self.low_g) / (2.0 * Z_HIGH * self.middle_g)

    def fitting(
        self,
        *,
        station_mm: float | None = None,
        length_mm: float | None = None,
        count: int = 1,
        section: str = "",
        price_minor: int | None = None,
    ) -> Fitting:
        """A fitting of this class.

        Raises
        ------
        RecordError
            when a length is needed and missing, or given for what is counted by the piece
        """
        if (self.per == "metre") != (length_mm is not None):
            need = "needs a length_mm" if self.per == "metre" else "takes no length_mm"
            raise RecordError(f"fitting {self.name!r} {need}.")
        metres = 1.0 if length_mm is None else length_mm / MM_PER_M
        return Fitting(
            name=self.name if length_mm is None else f"{self.name} x {length_mm:g}",
            mass_g=self.middle_g * metres,
            count=count,
            station_mm=station_mm,
            price_minor=price_minor,
            section=section,
            movable=self.movable,
            source=self.source,
            kind=self.kind,
            spread=self.spread,
        )


@cache
def built_in_fittings() -> Mapping[str, FittingRow]:
    """All rows of the built-in table by name."""
    text = (files("planner") / "data" / "fittings.toml").read_text(encoding="utf-8")
    table: dict[str, Any] = tomllib.loads(text)
    rows = [*_tubes(table["tube"]), *(_row(entry) for entry in table["row"])]
    return {row.name: row for row in rows}


def built_in_fitting(name: str) -> FittingRow:
    """The row of that name.

    Raises
    ------
    RecordError
        naming the nearest rows
    """
    rows = built_in_fittings()
    if name not in rows:
        near = get_close_matches(name, rows, n=3, cutoff=0.3)
        raise RecordError(
            f"like = {name!r} names no fitting of the built-in table.",
            next_step=f"Near: {'; '.join(near) or 'nothing'}. Or give its mass_g yourself.",
        )
    return rows[name]


def _row(entry: Mapping[str, Any]) -> FittingRow:
    return FittingRow(
        name=entry["name"],
        kind=entry["kind"],
        low_g=entry["low_g"],
        high_g=entry["high_g"],
        per=entry.get("per", "piece"),
        movable=entry.get("movable", False),
        source=entry["source"],
    )


def _tubes(table: Mapping[str, Any]) -> list[FittingRow]:
    rows = []
    for outer, inner in table["sizes_mm"]:
        low, high = (
            tube_mass_g(outer, inner, MM_PER_M, table[key]) for key in ("low_g_per_cm3", "high_g_per_cm3")
        )
        name = f"carbon tube {outer:g} x {inner:g}" if inner else f"carbon rod {outer:g}"
        rows.append(FittingRow(name, "tube", low, high, "metre", movable=False, source=table["source"]))
    return rows
