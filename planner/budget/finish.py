"""Glue, primer and paint: how much, and where it sits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.budget.spread import Z_HIGH
from planner.model.airframe import Finish
from planner.model.budget import MassItem

# Glue of a printed airframe weighs 2 to 3 % of what is printed (common practice, no source).
GLUE_SHARE, GLUE_SHARE_LOW, GLUE_SHARE_HIGH = 0.025, 0.02, 0.03
GLUE, PAINT = "glue", "primer and paint"
_GLUE_SPREAD = (GLUE_SHARE_HIGH - GLUE_SHARE_LOW) / (2.0 * Z_HIGH * GLUE_SHARE)
_GIVEN_SPREAD = 0.10  # common practice, no source: brushes and bottles are not scales


def finish_items(
    finish: Finish, printed: Sequence[MassItem], surfaces_mm2: Mapping[str, float]
) -> list[MassItem]:
    """Mass lines of glue and paint, at the given station if there is one.

    Else glue by the rule of thumb sits where the printed mass does, and given grams are spread
    over the surfaces of the pieces that have a station.
    """
    lines = []
    if finish.glue_g is None:
        own = [(item.mass_g, item.station_mm) for item in printed if item.station_mm is not None]
        grams = GLUE_SHARE * sum(item.mass_g for item in printed)
        lines.append((GLUE, grams, _mean(own), _GLUE_SPREAD))
    given = ((GLUE, finish.glue_g), (PAINT, finish.paint_g))
    shares = surface_shares(printed, surfaces_mm2)
    spots = [(shares[item.what], item.station_mm) for item in printed if item.station_mm is not None]
    for what, mass in given:
        if mass is not None:
            lines.append((what, mass, _mean(spots), _GIVEN_SPREAD))
    return [
        MassItem(
            what=what,
            kind="finish",
            section="",
            mass_g=mass,
            station_mm=at if finish.station_mm is None else finish.station_mm,
            spread=spread,
        )
        for what, mass, at, spread in lines
        if mass > 0.0
    ]


def surface_shares(printed: Sequence[MassItem], surfaces_mm2: Mapping[str, float]) -> dict[str, float]:
    """The share of given glue and paint on each placed piece, by its surface.

    Where a surface is not known all shares go by mass.
    """
    placed = [item for item in printed if item.station_mm is not None]
    areas = [surfaces_mm2.get(item.what, 0.0) for item in placed]
    if not all(area > 0.0 for area in areas):
        areas = [item.mass_g for item in placed]
    whole = sum(areas)
    return {item.what: area / whole for item, area in zip(placed, areas, strict=True) if whole > 0.0}


def _mean(spots: Sequence[tuple[float, float]]) -> float | None:
    whole = sum(weight for weight, _ in spots)
    return sum(weight * at for weight, at in spots) / whole if whole > 0.0 else None
