"""Glue, primer and paint: how much, and where it sits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.budget.joints import JointFace
from planner.budget.spread import Z_HIGH
from planner.model.airframe import Finish
from planner.model.budget import MassItem

# Glue of a printed airframe weighs 2 to 3 % of what is printed (common practice, no source).
GLUE_SHARE, GLUE_SHARE_LOW, GLUE_SHARE_HIGH = 0.025, 0.02, 0.03
GLUE, PAINT = "glue", "primer and paint"
GLUE_AT_JOINTS, PRIMER, PAINT_BY_AREA = "glue at joints", "primer", "paint"
_GLUE_SPREAD = (GLUE_SHARE_HIGH - GLUE_SHARE_LOW) / (2.0 * Z_HIGH * GLUE_SHARE)
_GIVEN_SPREAD = 0.10  # common practice, no source: brushes and bottles are not scales
_AREA_SPREAD = 0.25  # common practice, no source: films and bond lines differ from hand to hand
_MM2_PER_CM2, _MM2_PER_M2 = 100.0, 1e6


def by_rule(finish: Finish) -> bool:
    """Whether nothing is said of the glue, so that the rule of thumb counts."""
    return finish.glue_g is None and finish.glue_g_per_cm2 is None


def finish_items(
    finish: Finish,
    printed: Sequence[MassItem],
    surfaces_mm2: Mapping[str, float],
    *,
    joints: Sequence[JointFace] = (),
    outer_mm2: Mapping[str, float] | None = None,
) -> list[MassItem]:
    """Mass lines of glue, primer and paint, at the given station if there is one.

    Glue by the rule of thumb sits where the printed mass does; given grams are spread over the
    surfaces of the pieces that have a station. By area, glue sits at its joints, and primer and
    paint on the outer surfaces of the painted sections.
    """
    lines: list[tuple[str, float, float | None, float]] = []
    if by_rule(finish):
        own = [(item.mass_g, item.station_mm) for item in printed if item.station_mm is not None]
        grams = GLUE_SHARE * sum(item.mass_g for item in printed)
        lines.append((GLUE, grams, _mean(own), _GLUE_SPREAD))
    given = ((GLUE, finish.glue_g), (PAINT, finish.paint_g))
    shares = surface_shares(printed, surfaces_mm2)
    spots = [(shares[item.what], item.station_mm) for item in printed if item.station_mm is not None]
    for what, mass in given:
        if mass is not None:
            lines.append((what, mass, _mean(spots), _GIVEN_SPREAD))
    if finish.glue_g_per_cm2 is not None:
        faces = [(joint.area_mm2, joint.station_mm) for joint in joints]
        grams = finish.glue_g_per_cm2 * sum(area for area, _ in faces) / _MM2_PER_CM2
        lines.append((GLUE_AT_JOINTS, grams, _mean(faces), _AREA_SPREAD))
    coats = ((PRIMER, finish.primer_g_per_m2), (PAINT_BY_AREA, finish.paint_g_per_m2))
    covered = [item for item in printed if not finish.painted or item.section in finish.painted]
    areas = outer_mm2 or {}
    outer = [(areas.get(item.what, 0.0), item.station_mm) for item in covered]
    for what, rate in coats:
        if rate is not None:
            grams = rate * sum(area for area, _ in outer) / _MM2_PER_M2
            lines.append((what, grams, _mean([(a, x) for a, x in outer if x is not None]), _AREA_SPREAD))
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
