"""A look at the meshes, and drafts of the records from what is seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from planner.api.reading import CHECKING, hints_of, meshes_of, read_job
from planner.api.request import PlanRequest
from planner.api.several import refuse_several
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.api.kit import KitFound
    from planner.io.meshes.mesh_folder import MeshFolder
    from planner.io.records.draft import Placed
    from planner.kit.questions import Answer, Question
    from planner.kit.stacks import RawKit
    from planner.model.mesh_check import FolderCheck
    from planner.pipeline.job import Progress

_NAMED = 0.5  # of all meshes: names tell enough for a plan
MOST_TOLD = 3
MOST_SHAPES = 2_000  # each is compared with the others; names are quick to read
ASSEMBLY, WHOLE, WHOLE_BY_NAME = 0.85, 0.9, 0.7  # how sure a mesh is others put together, not to be printed


@dataclass(frozen=True, slots=True)
class Drafted:
    """What drafting made: each file with whether it was written, and what was found in the kit, in lines."""

    files: tuple[tuple[Path, bool], ...]
    found: tuple[str, ...]


def check_folder(request: PlanRequest, now: datetime, progress: Progress | None = None) -> FolderCheck:
    """Look at the meshes only: health, size, unit, fit, printable wall.

    Meshes beyond a few megabytes wait on the disk and are looked at one by one, so that a folder of ten
    thousand takes little more memory than one of a thousand.
    """
    from planner.pipeline.look import look

    refuse_several(request, "`planner check`")
    job = read_job(request, now, progress, room=CHECKING)
    return look(job, progress)


def check_text(check: FolderCheck) -> str:
    """A look at the meshes for the terminal."""
    from planner.report.text.check_text import check_text as text

    return text(check)


def draft_files(
    folder: Path,
    workshop_folder: Path | None = None,
    meshes: MeshFolder | None = None,
    *,
    zone: str | None = None,
    ask: Callable[[Question], Answer] | None = None,
    found_before: KitFound | None = None,
) -> Drafted:
    """Draft ``airframe.toml`` and ``workshop.toml`` in the folder.

    Files that exist are never touched.

    Parameters
    ----------
    workshop_folder : where the workshop is drafted, when one serves several airframes
    meshes : of the folder, where they were read already
    zone : time zone of the hours, written into the draft
    ask : is asked what is not sure of the kit, one question after the other; None leaves it open
    found_before : what was found about these meshes, where they were looked at already
    """
    from planner.io.meshes.mesh_formats import formats_told
    from planner.io.meshes.unit_doubts import likely_units
    from planner.io.records.builtin import (
        TABLE_CURRENCY,
        builtin_filaments,
        builtin_printers,
        builtin_recipes,
    )
    from planner.io.records.draft import airframe_draft, workshop_draft
    from planner.io.results.left import clear_left
    from planner.io.results.output import write_new
    from planner.kit.questions import answered
    from planner.kit.stacks import RawKit
    from planner.kit.summary import kit_lines

    meshes = meshes or meshes_of((folder,), None, None)
    if not meshes.meshes:
        raise InputError(
            "the folder holds no usable mesh.",
            where=str(folder),
            next_step=f"Put {formats_told()} files into it.",
        )
    files = folder / "airframe.toml", (workshop_folder or folder) / "workshop.toml"
    if all(path.exists() for path in files):
        for path in files:
            clear_left(path)
        return Drafted(tuple((path, False) for path in files), ())
    recipes = tuple(builtin_recipes().values())
    units = likely_units(meshes.meshes)
    placed = found_before.placed if found_before is not None else placed_as(meshes)
    turns = "" if placed is not None else _turns(meshes)
    kept = (folder / "airframe.toml").exists()
    if found_before is not None and not kept:
        kit = found_before.kit
    else:
        kit = RawKit() if kept else kit_of(meshes, in_place=placed is not None)
    kit = kit if ask is None else answered(kit, ask)
    airframe = airframe_draft(
        folder.resolve().name, hints_of(meshes), recipes, units, placed, turns, kit.proposals, kit.stacks
    )
    workshop = workshop_draft(
        tuple(builtin_printers().values()), tuple(builtin_filaments().values()), TABLE_CURRENCY, zone
    )
    made = []
    for path, text in zip(files, (airframe, workshop), strict=True):
        made.append((path, write_new(path, text)))
    found = () if kept else kit_lines(kit, len(meshes.meshes))
    return Drafted(tuple(made), found)


def unpacked(path: Path, *, again: bool = False) -> Path:
    """The folder of a kit: a zip archive is unpacked into one beside it, anything else is that itself.

    Parameters
    ----------
    again : the folder into which the archive was unpacked before is taken as it is

    Raises
    ------
    InputError
        when the archive is damaged, over a limit, leads out of its folder, or was unpacked before
    """
    from planner.io.meshes.archive import is_archive, unpack
    from planner.io.meshes.limits import Limits

    return unpack(path, Limits(), again=again) if is_archive(path) else path


def kit_of(folder: MeshFolder, *, in_place: bool = False, named_is_enough: bool = False) -> RawKit:
    """What was found about the meshes of a raw kit, with reasons; no stacks where they are drawn in place.

    Parameters
    ----------
    named_is_enough : shapes, up to 0.1 s a mesh, are read only where most names say nothing
    """
    from planner.io.meshes.likeness import assembly_findings
    from planner.io.meshes.wholes import wholes
    from planner.kit.by_shape import ShapeReading, read_shapes
    from planner.kit.reading import KitMesh, in_order, read_kit
    from planner.kit.row_stacks import rows_as_stacks
    from planner.kit.seat_lines import seats_or_stacks
    from planner.kit.stacks import RawKit, read_stacks

    records = folder.meshes
    unwanted = {
        one.about: ("the whole assembly beside its parts", ASSEMBLY) for one in assembly_findings(records)
    }
    for one in wholes(records, tuple(unwanted)):
        why = f"the whole of {', '.join(one.pieces)}"
        unwanted[one.mesh] = (why, WHOLE if one.in_place else WHOLE_BY_NAME)
    meshes = [KitMesh(r.name, r.mesh, r.suggestion.hand, r.suggestion.mirror) for r in records]
    found = read_kit(meshes, unwanted)
    named = sum(one.key == "section" for one in found) > _NAMED * len(meshes)
    if len(meshes) > MOST_SHAPES:
        shapes = ShapeReading(notes=(f"{len(meshes)} meshes are too many to read shapes: names alone tell",))
    else:
        shapes = ShapeReading() if named and named_is_enough else read_shapes(meshes, found)
    found = in_order([one.name for one in meshes], (*found, *shapes.proposals))
    if in_place:
        found, _ = seats_or_stacks(found, (), {one.name for one in hints_of(folder) if one.copies > 1})
        return RawKit(found, (), shapes.rows, shapes.notes)
    shaped = {one.mesh for one in shapes.proposals if one.key == "section"}
    places, stacks = read_stacks([one for one in meshes if one.name not in shaped], found)
    found, stacks = rows_as_stacks(meshes, shapes.rows, (*found, *places), stacks)
    found, stacks = seats_or_stacks(found, stacks, {one.name for one in hints_of(folder) if one.copies > 1})
    return RawKit(in_order([one.name for one in meshes], found), stacks, shapes.rows, shapes.notes)


def placed_as(folder: MeshFolder) -> Placed | None:
    """What a draft says of meshes that are drawn where they sit."""
    from planner.geometry.assembly.assembled import in_place
    from planner.io.records.draft import Placed
    from planner.model.axes import Axes
    from planner.pipeline.placed.heading import heading

    found = in_place([record.mesh for record in folder.meshes])
    if found is None:
        return None
    records = [folder.meshes[k] for k in (*found.agree, *found.shared)]
    hands = {record.name: record.suggestion.hand for record in records}
    mirrored = [record.name for record in records if record.suggestion.mirror]
    lies = heading({record.name: record.mesh for record in records}, hands, mirrored)
    why = f"{len(found.agree)} of {len(folder.meshes)} meshes tile one space"
    if lies.sure and lies.axes == Axes():
        return Placed(why)
    return Placed(why, lies.axes, lies.sure, ", ".join(lies.reasons) if lies.sure else "; ".join(lies.open))


def _turns(folder: MeshFolder) -> str:
    """What turning parts onto another face would spare, in words; empty where it spares nothing."""
    from planner.io.records.builtin import BUILTIN_PRINTER, builtin_printers, builtin_recipes
    from planner.io.records.part_record import DEFAULT_FILAMENT, DEFAULT_RECIPE
    from planner.model.part import Part
    from planner.pipeline.turning import hangs_much, spared_by_turning

    printers, recipe = (builtin_printers()[BUILTIN_PRINTER],), builtin_recipes()[DEFAULT_RECIPE]
    told = []
    for record in folder.meshes:
        part = Part(record.name, record.name, "draft", recipe, DEFAULT_FILAMENT)
        if hangs_much(record.mesh, recipe):
            turn = spared_by_turning(record.mesh, part, printers)
            told += [f"{record.name} by {100.0 * turn.spared:.0f} %"] if turn is not None else []
    if not told:
        return ""
    more = f" and {len(told) - MOST_TOLD} more" if len(told) > MOST_TOLD else ""
    return f"on another flat face less hangs in the air: {', '.join(told[:MOST_TOLD])}{more}"
