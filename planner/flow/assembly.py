"""Meshes that are drawn in assembly position: recognised or declared, and how they then stand to print."""

from __future__ import annotations

from dataclasses import replace

from planner.flow.job import Job
from planner.geometry.assembled import tile_common_space
from planner.geometry.pose import UPRIGHT

RECOGNISED = (
    "the meshes tile one space without overlap: they are taken to be in assembly position, x aft of the"
    " datum, y right, z up; write in_assembly_position = false under [airframe] if they are not"
)
TURNED = (
    "meshes in assembly position are turned onto a flat face to be printed, where that is better; give a"
    " [[part]] its pose to fix it"
)


def in_assembly(job: Job) -> Job:
    """The job with its meshes' position decided; nothing changes where they are drawn one by one.

    An airframe that tells its position, or places a part in a stack, is taken at its word.
    """
    airframe = job.airframe
    notes = job.assumptions
    if airframe.in_assembly_position is None:
        stacked = any(part.stack is not None for part in airframe.parts)
        names = dict.fromkeys(
            part.mesh for part in airframe.parts if part.copies > 0 and airframe.chosen(part.option)
        )
        found = not stacked and tile_common_space([job.meshes[name] for name in names])
        airframe = replace(airframe, in_assembly_position=found)
        notes = (*notes, RECOGNISED) if found else notes
    if not airframe.in_assembly_position:
        return replace(job, airframe=airframe)
    parts = tuple(replace(p, may_turn=p.may_turn or p.pose == UPRIGHT) for p in airframe.parts)
    return replace(job, airframe=replace(airframe, parts=parts), assumptions=(*notes, TURNED))
