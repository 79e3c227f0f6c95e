"""What is said of glue, primer and paint beside the mass table."""

from __future__ import annotations

from collections.abc import Sequence

from planner.model.airframe import Airframe, Finish
from planner.model.budget import MassItem
from planner.model.part import Part
from planner.units import grams_text
from planner.weights.finish import GLUE, GLUE_SHARE, by_rule
from planner.weights.finish_spots import Ground

_LEAST_G = 0.05  # less does not show


def finish_notes(
    airframe: Airframe,
    parts: Sequence[Part],
    printed: Sequence[MassItem],
    finish: Sequence[MassItem],
    ground: Ground,
) -> tuple[str, ...]:
    """The assumptions on glue and paint: how much, by which rule it is divided, and what has no place."""
    given = airframe.finish
    notes = []
    if by_rule(given) and parts:
        notes.append(
            f"Glue is taken as {100 * GLUE_SHARE:g} % of the printed mass (common practice, no source)."
        )
    notes += _divided(given, printed, finish, ground)
    if given.glue_g_per_cm2 is not None:
        notes.append(
            f"Glue is {given.glue_g_per_cm2:g} g/cm2 of the plane faces that touch, hinges too; tubes in"
            " their sockets and pieces without a seat (station_mm only) are not counted."
        )
    rates = (given.primer_g_per_m2, given.paint_g_per_m2)
    if given.paint_g is None and rates == (None, None) and parts:
        notes.append("No primer or paint is given; none is counted.")
    elif rates != (None, None):
        notes.append("Primer and paint go by the outer surface of the meshes; joint faces count too.")
    lost = [item for item in finish if item.station_mm is None]
    if sum(item.mass_g for item in lost) >= _LEAST_G:
        grams = grams_text(sum(item.mass_g for item in lost))
        notes.append(f"{grams} g of glue and paint lie on pieces whose place is not known: unplaced, too.")
    return tuple(notes)


def _divided(
    given: Finish, printed: Sequence[MassItem], finish: Sequence[MassItem], ground: Ground
) -> list[str]:
    """By what a total of glue is divided."""
    glue = [item for item in finish if item.finish == GLUE]
    whole = sum(item.mass_g for item in glue)
    if whole < _LEAST_G:
        return []
    measure = "printed mass" if by_rule(given) else "surface"
    if not ground.glued_mm2 or not any(item.what in ground.jointed for item in printed):
        return [f"Glue is divided by {measure}: no glued joint is known."]
    if all(item.what in ground.jointed for item in printed):
        return ["Glue is divided by the area of the glued joints; a joint of two sections counts half each."]
    return [
        "Glue is divided by the area of the glued joints, half to each side;"
        f" to pieces without a seat by {measure}."
    ]
