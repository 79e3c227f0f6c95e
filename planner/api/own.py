"""Values that a Python caller hands over in place of files."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner.errors import RecordError

if TYPE_CHECKING:
    from planner.io.meshes.mesh_folder import MeshFolder
    from planner.io.records.airframe_record import AirframeReading
    from planner.model.airframe import Airframe
    from planner.model.filament import Filament, Spool
    from planner.model.printer import Printer
    from planner.model.recipe import Recipe
    from planner.model.workshop import Workshop

NOTE = "handed over by the program that asked for the plan"


@dataclass(frozen=True, slots=True)
class Own:
    """What is handed over; what is empty comes from the files and the built-in tables.

    Printers and filaments stand beside those of the workshop and go before one of the same name; spools are
    the whole shelf.
    """

    airframe: Airframe | None = None
    workshop: Workshop | None = None
    printers: tuple[Printer, ...] = ()
    filaments: tuple[Filament, ...] = ()
    spools: tuple[Spool, ...] | None = None

    def supplied(self, workshop: Workshop) -> tuple[Workshop, tuple[str, ...]]:
        """The workshop with the filaments and spools of the caller, and what is to be said of it."""
        told = []
        if self.filaments:
            rows = {one.name: one for one in (*workshop.filaments, *self.filaments)}
            workshop = replace(workshop, filaments=tuple(rows.values()))
            told.append(f"filaments {NOTE}: {', '.join(one.name for one in self.filaments)}")
        if self.spools is not None:
            for spool in self.spools:
                workshop.filament(spool.filament)
            workshop = replace(workshop, spools=self.spools)
            told.append(f"the shelf was {NOTE}: {len(self.spools)} spools")
        return workshop, tuple(told)

    def reading(self, folder: MeshFolder, recipes: dict[str, Recipe]) -> AirframeReading | None:
        """The airframe of the caller, whose meshes must be in the folder.

        Raises
        ------
        RecordError
            when one is not
        """
        from planner.io.records.airframe_record import AirframeReading

        if self.airframe is None:
            return None
        there = {record.name for record in folder.meshes}
        lacking = [part for part in self.airframe.parts if part.mesh not in there]
        if lacking:
            raise RecordError(
                f"part {lacking[0].name!r} names the mesh {lacking[0].mesh!r}, which is not in the folder.",
                where="airframe",
                next_step="Give the folder that the airframe was made for.",
            )
        named = {part.recipe.name: part.recipe for part in self.airframe.parts}
        return AirframeReading(self.airframe, (f"the airframe was {NOTE}",), {**recipes, **named})
