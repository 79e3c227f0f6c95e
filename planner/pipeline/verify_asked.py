"""Every bed asks for the nozzle and the plate that all its parts ask for; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.model.batch import Batch
from planner.model.part import Part
from planner.model.workshop import Workshop


def asked_faults(batch: Batch, parts: Sequence[Part], workshop: Workshop) -> Iterator[str]:
    """A sentence where a part asks for another nozzle or plate than its bed."""
    for part in parts:
        filament = next((one for one in workshop.filaments if one.name == part.filament), None)
        if filament is None:
            continue
        recipe = part.recipe
        width = recipe.nozzle_mm or filament.nozzle_mm
        wanted = (width, filament.hardened_nozzle, recipe.plate or filament.plate)
        has = (batch.fit.nozzle_mm, batch.fit.hardened, batch.fit.plate)
        if wanted != has:
            yield f"{batch.name} is printed with nozzle and plate {has}, but {part.name} asks for {wanted}"
