"""What the finished airframe weighs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from planner.budget.finish import GLUE_SHARE, by_rule, finish_items
from planner.budget.joints import joint_faces
from planner.budget.spread import deviation, low_and_high
from planner.budget.stations import stations
from planner.errors import RecordError
from planner.model.airframe import Airframe
from planner.model.assembly import Contact
from planner.model.budget import Mass, MassItem, Place
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.part import Part, Piece
from planner.model.printed import PrintedPiece

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
    outer_mm2: Mapping[str, float] | None = None,
    contacts: Sequence[Contact] = (),
    there: Mapping[str, PrintedPiece] | None = None,
) -> Mass:
    """Flying mass with its 10 and 90 % values.

    Parameters
    ----------
    parts : those of the chosen options
    deposits, filaments : by part name and by filament name
    outer_mm2 : outer surface by part name, where primer or paint goes by area
    contacts : faces on which pieces touch, where glue goes by area
    there : by name, pieces that are printed: they weigh, and sit where they say so, as they were printed

    Raises
    ------
    RecordError
        when the filament of a part is not among ``filaments``
    """
    places = stations(airframe, parts, deposits, pieces)
    printed, missing = _printed(parts, deposits, pieces, filaments, places, there or {})
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
    outer = {piece.name: (outer_mm2 or {}).get(piece.part, 0.0) for piece in pieces}
    joints = joint_faces(airframe, parts, deposits, pieces, contacts)
    finish = finish_items(
        airframe.finish, printed, surfaces(deposits, pieces), joints=joints, outer_mm2=outer
    )
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
        notes=(*_assumptions(airframe, parts), *missing, *class_limits(airframe, low, total, high)),
    )


def surfaces(deposits: Mapping[str, Deposit], pieces: Sequence[Piece]) -> dict[str, float]:
    """Surface of the mesh of each estimated piece, mm2, by piece name."""
    return {p.name: deposits[p.part].surface_mm2 for p in pieces if p.part in deposits}


def _printed(
    parts: Sequence[Part],
    deposits: Mapping[str, Deposit],
    pieces: Sequence[Piece],
    filaments: Mapping[str, Filament],
    places: Mapping[str, Place],
    there: Mapping[str, PrintedPiece],
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
        place, grams, made = places.get(piece.name), flying_g(deposit), there.get(piece.name)
        if made is not None:
            place, grams = made.place or place, made.flying_g
            filament = filaments.get(made.filament, filament)
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
                spread=filament.spread_piece,
                spread_shared=filament.spread_shared,
                hand=piece.hand,
            )
        )
    return items, missing


def _assumptions(airframe: Airframe, parts: Sequence[Part]) -> list[str]:
    notes = []
    finish = airframe.finish
    if by_rule(finish) and parts:
        notes.append(
            f"Glue is taken as {100 * GLUE_SHARE:g} % of the printed mass (common practice, no source)."
        )
    if finish.glue_g_per_cm2 is not None:
        notes.append(
            f"Glue is {finish.glue_g_per_cm2:g} g/cm2 of the plane faces that touch, hinges too; tubes in"
            " their sockets and pieces without a seat (station_mm only) are not counted."
        )
    if {finish.paint_g, finish.primer_g_per_m2, finish.paint_g_per_m2} == {None} and parts:
        notes.append("No primer or paint is given; none is counted.")
    elif finish.primer_g_per_m2 is not None or finish.paint_g_per_m2 is not None:
        notes.append("Primer and paint go by the outer surface of the meshes; joint faces count too.")
    if any(part.recipe.brim_mm > 0.0 for part in parts):
        notes.append("Brims count in the flying mass although they are cut off: the truth is a little less.")
    return notes


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
