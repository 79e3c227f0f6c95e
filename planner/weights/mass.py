"""What the finished airframe weighs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from planner.errors import RecordError
from planner.geometry.mesh.outer import OuterSurface
from planner.model.airframe import Airframe
from planner.model.assembly import Contact
from planner.model.budget import Mass, MassItem, Place
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.learned import Lesson, Taught, WeighedGrams
from planner.model.part import Part, Piece
from planner.model.printed import PrintedPiece
from planner.weights.finish import finish_items
from planner.weights.finish_ground import finish_ground
from planner.weights.finish_notes import finish_notes
from planner.weights.spread import deviation, low_and_high
from planner.weights.stations import stations

FITTING_SPREAD = 0.02  # catalogue and kitchen-scale masses (common practice, no source)


def flying_g(deposit: Deposit) -> float:
    """Grams of one piece without the support that is broken off.

    The brim counts as part of the piece: the deposit does not tell it from the bottom layers.
    """
    volume = deposit.volume_mm3
    return deposit.mass_g * (1.0 - deposit.support_mm3 / volume) if volume > 0.0 else deposit.mass_g


def airframe_mass(
    airframe: Airframe,
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
    filaments: Mapping[str, Filament],
    outer: Mapping[str, OuterSurface] | None = None,
    contacts: Sequence[Contact] = (),
    there: Mapping[str, PrintedPiece] | None = None,
    taught: Taught | None = None,
) -> Mass:
    """Flying mass with its 10 and 90 % values.

    Parameters
    ----------
    parts : those of the chosen options
    deposits, filaments : by part name and by filament name
    outer : outer surfaces by part name: primer and paint go there
    contacts : faces on which pieces touch: glue goes there
    there : by name, pieces that are printed: they weigh, and sit where they say so, as they were printed
    taught : what a ledger tells of how far grams may lie off; what it tells of grams is in ``deposits`` and
        ``there``

    Raises
    ------
    RecordError
        when the filament of a part is not among ``filaments``
    """
    places = stations(airframe, parts, deposits, pieces)
    printed, missing = _printed(parts, deposits, pieces, filaments, places, there or {}, taught or Taught())
    fittings = [
        MassItem(
            what=fitting.name,
            kind="fitting",
            section=fitting.section,
            mass_g=fitting.count * fitting.mass_g,
            station_mm=fitting.station_mm,
            across_mm=fitting.across_mm,
            up_mm=fitting.up_mm,
            spread=FITTING_SPREAD if fitting.spread is None else fitting.spread,
            movable=fitting.movable or fitting.movable_mm is not None,
            movable_mm=fitting.movable_mm,
        )
        for fitting in airframe.fittings
        if airframe.chosen(fitting.option) and fitting.count > 0
    ]
    ground = finish_ground(airframe, parts, deposits, pieces, outer or {}, contacts)
    finish = finish_items(airframe.finish, printed, ground)
    items = (*printed, *fittings, *finish)
    total = sum(item.mass_g for item in items)
    low, high = low_and_high(total, deviation(items, [1.0] * len(items)))
    return Mass(
        items=items,
        printed_g=sum(item.mass_g for item in printed),
        fittings_g=sum(item.mass_g for item in fittings),
        finish_g=sum(item.mass_g for item in finish),
        total_g=total,
        low_g=max(low, 0.0),
        high_g=high,
        target_g=airframe.target_mass_g,
        notes=(
            *finish_notes(airframe, parts, printed, finish, ground),
            *_brims(parts),
            *missing,
            *class_limits(airframe, low, total, high),
        ),
    )


def _printed(
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
    filaments: Mapping[str, Filament],
    places: Mapping[str, Place],
    there: Mapping[str, PrintedPiece],
    taught: Taught,
) -> tuple[list[MassItem], list[str]]:
    by_name = {part.name: part for part in parts}
    items: list[MassItem] = []
    missing: list[str] = []
    for piece in pieces:
        part, deposit = by_name.get(piece.part), deposits.get(piece.part)
        if part is None or deposit is None:
            missing.append(f"{piece.name} could not be estimated and is not in the mass.")
            continue
        filament = filaments.get(part.filament)
        if filament is None:
            raise RecordError(f"the filament {part.filament!r} is not known.", where=f"part {part.name!r}")
        place, made = places.get(piece.name), there.get(piece.name)
        grams = flying_g(deposit) * taught.share_of(piece.name)
        scale = taught.weighed.get(piece.name)
        if made is not None:
            place, grams = made.place or place, made.flying_g
            filament = filaments.get(made.filament, filament)
        elif scale is not None:  # what was on the scale is there, whatever was told of its bed
            grams = scale.grams
        items.append(
            MassItem(
                what=piece.name,
                kind="printed",
                section=piece.section or part.section,
                mass_g=grams,
                station_mm=None if place is None else place.station_mm,
                across_mm=None if place is None else place.across_mm,
                up_mm=None if place is None else place.up_mm,
                filament=filament.name,
                hand=piece.hand,
                **_spreads(
                    filament,
                    taught.lessons.get((part.filament, part.recipe.name)),
                    scale,
                ),
            )
        )
    return items, missing


def _spreads(filament: Filament, lesson: Lesson | None, weighed: WeighedGrams | None) -> dict[str, Any]:
    """How far the grams of a piece may lie off: a weighed one by its scale, others by what was learned."""
    if weighed is not None:
        return {"spread": weighed.spread}
    if lesson is not None:
        return {"spread": lesson.spread, "loads": lesson.loads}
    return {"spread": filament.spread_piece, "spread_shared": filament.spread_shared}


def _brims(parts: Sequence[Part]) -> list[str]:
    if any(part.recipe.brim_mm > 0.0 for part in parts):
        return ["Brims count in the flying mass although they are cut off: the truth is a little less."]
    return []


def class_limits(airframe: Airframe, low: float, total: float, high: float) -> list[str]:
    """Mass classes of the user's own authority, as given in the airframe file."""
    notes = []
    for label, limit in airframe.mass_limits_g:
        if total > limit:
            notes.append(f"Expected {total:.0f} g is over the limit of {limit:g} g ({label}).")
        elif high > limit:
            notes.append(
                f"Expected {total:.0f} g keeps the limit of {limit:g} g ({label}),"
                f" but the range {low:.0f} to {high:.0f} g does not."
            )
    return notes
