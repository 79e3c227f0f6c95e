"""Glue, primer and paint: how much, and where it sits, one mass line for each section and kind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.model.airframe import Finish
from planner.model.budget import MassItem, Place
from planner.weights.finish_spots import (
    Ground,
    Spot,
    at_joints,
    by_surface,
    glue_in_all,
    paint_by_area,
    paint_in_all,
)
from planner.weights.spread import Z_HIGH

# Glue of a printed airframe weighs 2 to 3 % of what is printed (common practice, no source).
GLUE_SHARE, GLUE_SHARE_LOW, GLUE_SHARE_HIGH = 0.025, 0.02, 0.03
GLUE, PAINT = "glue", "primer and paint"
GLUE_AT_JOINTS, PRIMER, PAINT_BY_AREA = "glue at joints", "primer", "paint"
NO_STATION = " (no station)"
_GLUE_SPREAD = (GLUE_SHARE_HIGH - GLUE_SHARE_LOW) / (2.0 * Z_HIGH * GLUE_SHARE)
_GIVEN_SPREAD = 0.10  # common practice, no source: brushes and bottles are not scales
_AREA_SPREAD = 0.25  # common practice, no source: films and bond lines differ from hand to hand
_MM2_PER_CM2, _MM2_PER_M2 = 100.0, 1e6


def by_rule(finish: Finish) -> bool:
    """Whether nothing is said of the glue, so that the rule of thumb counts."""
    return finish.glue_g is None and finish.glue_g_per_cm2 is None


def finish_items(finish: Finish, printed: Sequence[MassItem], ground: Ground) -> list[MassItem]:
    """Mass lines of glue, primer and paint by section, all at the given station if there is one.

    Glue by area sits at its joints. A total of glue, given or by the rule of thumb, is divided among
    the pieces by surface (the rule: by mass); what falls to pieces whose joints are known sits at these
    joints by their area, the rest at the pieces. Primer and paint sit in the middle of the outer
    surfaces of the painted sections. What lies on a piece without a station is a line of its own.
    """
    return [
        line
        for what, spots, spread in _kinds(finish, printed, ground)
        for line in _by_section(what, spots, spread, finish.station_mm)
    ]


def _kinds(
    finish: Finish, printed: Sequence[MassItem], ground: Ground
) -> Iterator[tuple[str, list[Spot], float]]:
    """Every kind with its spots and the relative spread of its total."""
    if by_rule(finish):
        weights = {item.what: item.mass_g for item in printed}
        yield GLUE, glue_in_all(GLUE_SHARE * sum(weights.values()), printed, weights, ground), _GLUE_SPREAD
    if finish.glue_g is not None:
        weights = by_surface(printed, ground.surfaces_mm2)
        yield GLUE, glue_in_all(finish.glue_g, printed, weights, ground), _GIVEN_SPREAD
    covered = [item for item in printed if not finish.painted or item.section in finish.painted]
    if finish.paint_g is not None:
        yield PAINT, paint_in_all(finish.paint_g, covered, ground), _GIVEN_SPREAD
    if finish.glue_g_per_cm2 is not None:
        rate = finish.glue_g_per_cm2 / _MM2_PER_CM2
        yield GLUE_AT_JOINTS, at_joints(ground.joints, rate, printed), _AREA_SPREAD
    for what, coat in ((PRIMER, finish.primer_g_per_m2), (PAINT_BY_AREA, finish.paint_g_per_m2)):
        if coat is not None:
            yield what, paint_by_area(coat / _MM2_PER_M2, covered, ground), _AREA_SPREAD


def _by_section(
    what: str, spots: Sequence[Spot], spread: float, station_mm: float | None
) -> Iterator[MassItem]:
    """One line a section, and one for what has no station there; lines of a kind err together."""
    given = None if station_mm is None else Place(station_mm)
    groups: dict[tuple[str, bool], list[tuple[Spot, Place | None]]] = {}
    for spot in spots:
        if spot.grams > 0.0:
            place = given or spot.place
            groups.setdefault((spot.section, place is not None), []).append((spot, place))
    for (section, placed), own in groups.items():
        places = [(spot.grams, place) for spot, place in own if place is not None]
        parted = not placed and (section, True) in groups
        at = station_mm  # as it was given, to the last bit: a mean of equal numbers may be off by one
        if at is None:
            at = _middle([(grams, place.station_mm) for grams, place in places])
        yield MassItem(
            what=what + (f", {section}" if section else "") + NO_STATION * parted,
            kind="finish",
            section=section,
            mass_g=sum(spot.grams for spot, _ in own),
            station_mm=at,
            across_mm=_middle([(grams, place.across_mm) for grams, place in places]),
            up_mm=_middle([(grams, place.up_mm) for grams, place in places]),
            spread_shared=spread,
            finish=what,
            carried=() if given else tuple((spot.piece, spot.grams) for spot, _ in own if spot.piece),
        )


def _middle(spots: Sequence[tuple[float, float | None]]) -> float | None:
    """The mean by weight of what is known: the rest of a section is taken to sit with it."""
    known = [(weight, at) for weight, at in spots if at is not None]
    whole = sum(weight for weight, _ in known)
    return sum(weight * at for weight, at in known) / whole if whole > 0.0 else None
