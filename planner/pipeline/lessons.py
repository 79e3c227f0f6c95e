"""What a ledger has taught, in the grams of parts and of pieces that are there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from planner.model.deposit import Deposit
from planner.model.learned import Taught
from planner.model.part import Part
from planner.model.printed import PrintedPiece
from planner.model.replan import EarlierPlan


def as_taught(deposit: Deposit, part: Part, taught: Taught | None) -> Deposit:
    """The deposit of a part with its learned grams; volumes and minutes stay those of the mesh."""
    lesson = taught.lessons.get((part.filament, part.recipe.name)) if taught is not None else None
    if lesson is None or lesson.factor == 1.0:
        return deposit
    xx, yy, zz, xy, xz, yz = (lesson.factor * one for one in deposit.inertia_g_mm2)
    return replace(
        deposit,
        mass_g=deposit.mass_g * lesson.factor,
        filament_m=deposit.filament_m * lesson.factor,
        inertia_g_mm2=(xx, yy, zz, xy, xz, yz),
    )


def tables_of(
    printed: Mapping[str, PrintedPiece], earlier: EarlierPlan, taught: Taught | None
) -> Taught | None:
    """What was taught, with the grams by the tables of the pieces that are there, as they were printed.

    Those of all others follow from their parts as they are now.
    """
    if taught is None:
        return None
    factors = earlier.taught.factors
    own = {
        name: piece.flying_g / factors.get(earlier.part_of.get(name, ""), 1.0)
        for name, piece in printed.items()
    }
    return replace(taught, predicted={name: taught.predicted.get(name, grams) for name, grams in own.items()})


def printed_as_taught(
    printed: Mapping[str, PrintedPiece], earlier: EarlierPlan, taught: Taught | None
) -> dict[str, PrintedPiece]:
    """Pieces that are there: what was weighed weighs that, the others what the tables and all lessons say."""
    if taught is None:
        return dict(printed)
    found = {}
    for name, piece in printed.items():
        part = earlier.part_of.get(name, "")
        lesson, weighed = taught.lessons.get((piece.filament, piece.recipe)), taught.weighed.get(name)
        before = earlier.taught.factors.get(part, 1.0)
        flying = taught.predicted.get(name, piece.flying_g / before)
        flying *= lesson.factor if lesson is not None else before
        found[name] = replace(piece, flying_g=flying if weighed is None else weighed.grams)
    return found
