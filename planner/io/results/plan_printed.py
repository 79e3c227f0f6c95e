"""What an earlier plan remembers of parts and pieces."""

from __future__ import annotations

from planner.model.budget import Place
from planner.model.printed import Make, PrintedPiece
from planner.model.replan import EarlierPart
from planner.plan_record.faults import Fault
from planner.plan_record.parts import PartRecord
from planner.plan_record.series import PrintedRecord
from planner.plan_record.sums import MassItemRecord, MassRecord
from planner.plan_record.values import given


def earlier_part(told: PartRecord, place: str) -> EarlierPart:
    """A part as the plan knew it; plans of old do not tell its make."""
    return EarlierPart(told.filament, told.recipe, told.mass_g, _make(told, told.pose.rotation, place))


def printed_piece(told: PrintedRecord, place: str) -> PrintedPiece:
    """A piece that was printed, or being printed, as it was made."""
    return PrintedPiece(
        piece=told.piece,
        batch=told.bed,
        make=_make(told, given(told.rotation, None), place),
        mass_g=told.mass_g,
        flying_g=told.flying_g,
        filament=told.filament,
        recipe=told.recipe,
        place=_place(told),
    )


def weights(told: MassRecord) -> dict[str, tuple[float, Place | None]]:
    """What each printed piece flies with, and where, by its name."""
    return {one.what: (one.mass_g, _place(one)) for one in told.items if one.kind == "printed"}


def _make(told: PartRecord | PrintedRecord, rotation: list[float] | None, place: str) -> Make | None:
    mesh, recipe = given(told.mesh_sha256, None), given(told.recipe_sha256, None)
    if mesh is None:
        return None
    if recipe is None:
        raise Fault(f"{place}.recipe_sha256", "nothing", "given")
    if rotation is None:
        raise Fault(f"{place}.rotation", "nothing", "given")
    return Make(mesh, tuple(rotation), told.recipe, recipe, told.filament)


def _place(told: PrintedRecord | MassItemRecord) -> Place | None:
    station = given(told.station_mm, None)
    if station is None:
        return None
    return Place(station, given(told.across_mm, None), given(told.up_mm, None), "as it was printed")
