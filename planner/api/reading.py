"""Meshes and records into one job."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner.api.held import held_notes, made_choices, still_there
from planner.api.own import NOTE
from planner.api.request import PlanRequest
from planner.errors import InputError, RecordError
from planner.model.effort import effort_named

if TYPE_CHECKING:  # the stages are imported late, so that help and bad input answer at once
    from planner.io.meshes.kept_files import KeptFiles
    from planner.io.meshes.meshes import MeshFolder
    from planner.io.meshes.own_units import OwnUnit
    from planner.io.records.airframe_record import AirframeReading
    from planner.io.records.part_record import MeshHint
    from planner.io.toml_file import TomlFile
    from planner.model.airframe import Airframe
    from planner.model.attendance import Attendance
    from planner.model.finding import Finding
    from planner.model.printer import Printer
    from planner.model.workshop import Workshop
    from planner.pipeline.job import Job, Progress

FIRST_YEAR, LAST_YEAR = 2000, 2200


@dataclass(frozen=True, slots=True)
class ReadingRoom:
    """How many mesh files may be read, and how many bytes of their triangles stay in memory.

    ``None`` is the limit of the readers, and all of them.
    """

    files: int | None = None
    held_bytes: int | None = None


ROOM = ReadingRoom()
CHECKING = ReadingRoom(files=20_000, held_bytes=32_000_000)  # meshes are looked at one by one


def read_job(
    request: PlanRequest,
    now: datetime,
    progress: Progress | None = None,
    kept: KeptFiles | None = None,
    room: ReadingRoom = ROOM,
) -> Job:
    """Read meshes and records into one job; several folders are several airframes.

    Parameters
    ----------
    kept : of one airframe, what this process has read of its mesh files before
    room : of one airframe, how many files are read and how many bytes of them stay in memory
    """
    from planner.api.several import is_several
    from planner.io.meshes.mesh_formats import formats_told

    if is_several(request):
        from planner.api.several_job import read_several

        return read_several(request, now, progress)
    folder, workshop, assumed = _read(request, progress, kept, room)
    if not folder.meshes:
        reasons = "; ".join(f"{aside.mesh}: {aside.reason}" for aside in folder.set_aside[:5])
        raise InputError(
            f"no usable mesh was found{': ' + reasons if reasons else ''}.",
            where=", ".join(str(source) for source in request.sources),
            next_step=f"Give a folder with {formats_told()} files.",
        )
    return _job(request, folder, workshop, now, assumed)


def read_folder(request: PlanRequest) -> MeshFolder:
    """The meshes of a request in the units that its records say."""
    return _read(request, None)[0]


def _read(
    request: PlanRequest,
    progress: Progress | None,
    kept: KeptFiles | None = None,
    room: ReadingRoom = ROOM,
) -> tuple[MeshFolder, Workshop, tuple[str, ...]]:
    from planner.io.meshes.own_units import own_units
    from planner.io.records.airframe_record import declared_unit
    from planner.io.toml_file import read_toml
    from planner.joint_search.objectives import order_of

    effort_named(request.effort, "--effort")
    order_of(request.prefer or request.held.prefer)
    workshop, assumed = _workshop(request)
    airframe_file = beside(request, request.airframe_file, "airframe.toml")
    written = read_toml(airframe_file) if airframe_file else None
    unit = request.unit or (declared_unit(written) if written else None)
    own = own_units(written) if written else ()
    folder = meshes_of(request.sources, unit, progress, own, kept, room)
    return folder, workshop, assumed


def meshes_of(
    sources: Sequence[Path],
    unit: str | None,
    progress: Progress | None,
    own: Sequence[OwnUnit] = (),
    kept: KeptFiles | None = None,
    room: ReadingRoom = ROOM,
) -> MeshFolder:
    """Every mesh of the sources, in the folder's unit or its own."""
    from planner.io.meshes.limits import Limits
    from planner.io.meshes.meshes import read_meshes

    source: Path | tuple[Path, ...] = sources[0] if len(sources) == 1 else tuple(sources)
    report = None if progress is None else (lambda done, total: progress("read meshes", done, total))
    limits = Limits() if room.files is None else replace(Limits(), files=room.files)
    found = read_meshes(
        source, limits=limits, unit=unit, own=own, progress=report, kept=kept, held_bytes=room.held_bytes
    )
    return _of_a_size_to_print(found)


def _of_a_size_to_print(folder: MeshFolder) -> MeshFolder:
    """Set aside what is larger than any bed may be: its layers would fill the memory."""
    from planner.model.part import LARGEST_MM
    from planner.model.plan import SetAside

    giants = {r.name: float(r.mesh.extents.max()) for r in folder.meshes}
    giants = {name: size for name, size in giants.items() if size > LARGEST_MM}
    aside = tuple(
        SetAside(
            name,
            f"it is {size:.4g} mm long; the limit is {LARGEST_MM:g} mm. Check the unit of its export.",
        )
        for name, size in giants.items()
    )
    kept = tuple(record for record in folder.meshes if record.name not in giants)
    return replace(folder, meshes=kept, set_aside=(*folder.set_aside, *aside))


def beside(request: PlanRequest, given: Path | None, name: str) -> Path | None:
    """The file that was named, else the one inside or beside the folder of meshes."""
    if given is not None:
        return given
    first = request.sources[0]
    inside = first if first.is_dir() else first.parent
    for folder in (inside, inside.resolve().parent):
        if (folder / name).is_file():
            return folder / name
    return None


def _workshop(request: PlanRequest) -> tuple[Workshop, tuple[str, ...]]:
    from planner.io.records.builtin import builtin_printers, chosen_printers
    from planner.io.toml_file import read_toml

    workshop = request.own.workshop
    if workshop is None:
        path = beside(request, request.workshop_file, "workshop.toml")
        workshop, printers, assumed = workshop_of(read_toml(path) if path is not None else None, request.zone)
    else:
        printers, assumed = builtin_printers(workshop.currency), (f"the workshop was {NOTE}",)
    workshop, handed = request.own.supplied(workshop)
    assumed = (*assumed, *handed)
    known = {**printers, **{one.name: one for one in (*workshop.printers, *request.own.printers)}}
    names = request.printers or still_there(request.held, known)
    if names:
        workshop = replace(workshop, printers=chosen_printers(names, known))
        assumed = (*assumed, f"printers as chosen: {', '.join(names)}")
    return workshop, assumed


def workshop_of(
    file: TomlFile | None, zone: str | None = None
) -> tuple[Workshop, dict[str, Printer], tuple[str, ...]]:
    """The workshop, the built-in printers in its currency, and what was assumed.

    Parameters
    ----------
    zone : that of the computer, for hours for which the file names none
    """
    workshop, printers, assumed = _as_written(file)
    if file is not None and "time_zone" in file.values:
        return workshop, printers, assumed
    if zone is not None:
        workshop = replace(workshop, attendance=replace(workshop.attendance, zone=zone))
        note = f"no time_zone is given: hours are those of this computer, {zone}"
    elif not _zoned(workshop.attendance):
        return workshop, printers, assumed  # told with the start, in whose zone it is planned
    else:
        note = "no time_zone is given: hours are taken in UTC"
    return workshop, printers, (*assumed, note)


def _as_written(file: TomlFile | None) -> tuple[Workshop, dict[str, Printer], tuple[str, ...]]:
    from planner.io.records.builtin import builtin_filaments, builtin_printers, builtin_workshop
    from planner.io.records.workshop_record import read_workshop

    if file is None:
        printers = builtin_printers()
        workshop = builtin_workshop(builtin_filaments(), printers)
        note = (
            f'no workshop.toml was found: one built-in printer "{workshop.printers[0].name}", every built-in'
            " filament at its list price, an empty shelf, and somebody there at every hour are assumed"
        )
        return workshop, printers, (note,)
    written = file.values.get("currency", "EUR")
    currency = written if isinstance(written, str) else "EUR"
    printers = builtin_printers(currency)
    workshop = read_workshop(file, printers, builtin_filaments(currency))
    if "attendance" not in file.values:
        note = "workshop.toml names no attendance: somebody is taken to be there at every hour"
        return workshop, printers, (note,)
    return workshop, printers, ()


def _job(
    request: PlanRequest,
    folder: MeshFolder,
    workshop: Workshop,
    now: datetime,
    assumed: tuple[str, ...],
) -> Job:
    from planner.estimate.cache import FolderCache
    from planner.estimate.kept_shapes import ShapeFolder
    from planner.pipeline.job import Job

    reading = _airframe(request, folder, workshop)
    filament = request.filament or request.held.filament
    if filament is not None:
        workshop.filament(filament)
    start = start_time(request.start, workshop.attendance, now)
    return Job(
        airframe=reading.airframe,
        workshop=workshop,
        meshes={record.name: record.mesh for record in folder.meshes},
        start=start,
        seed=request.seed,
        effort=effort_named(request.effort),
        prefer=request.prefer or request.held.prefer,
        risk=request.risk,
        workers=request.workers,
        cluster=request.cluster,
        cache=FolderCache(request.cache_folder) if request.cache_folder else None,
        shapes=ShapeFolder(request.cache_folder) if request.cache_folder else None,
        set_aside=folder.set_aside,
        assumptions=(
            *held_notes(request, reading.airframe, workshop),
            *assumed,
            *_zone_note(workshop, start, request),
            *reading.assumptions,
            *folder.assumptions,
        ),
        findings=_of_what_is_printed(folder, reading.airframe),
        watertight={record.name: record.watertight for record in folder.meshes},
        recipes=reading.recipes,
        choices=made_choices(request, reading.airframe, workshop),
    )


def _of_what_is_printed(folder: MeshFolder, airframe: Airframe) -> tuple[Finding, ...]:
    """Findings about the meshes, without those about meshes that the chosen options leave out."""
    every = {record.name for record in folder.meshes}
    used = {part.mesh for part in airframe.parts if part.copies > 0 and airframe.chosen(part.option)}
    found = (*folder.findings, *(f for record in folder.meshes for f in record.findings))
    return tuple(f for f in found if not {f.about, *f.others} & (every - used))


def _zone_note(workshop: Workshop, start: datetime, request: PlanRequest) -> tuple[str, ...]:
    if _zoned(workshop.attendance) or request.zone is not None:
        return ()
    return (f"no time_zone is given: times are those of this machine, {start:UTC%z}",)


def _zoned(attendance: Attendance) -> bool:
    return bool(attendance.weekly or attendance.dates or attendance.zone != "UTC")


def _airframe(request: PlanRequest, folder: MeshFolder, workshop: Workshop) -> AirframeReading:
    from planner.io.records.airframe_record import from_names, read_airframe
    from planner.io.records.builtin import builtin_recipes
    from planner.io.toml_file import parse_toml, read_toml

    handed = request.own.reading(folder, builtin_recipes())
    if handed is not None:
        return handed
    path = beside(request, request.airframe_file, "airframe.toml")
    if path is None:  # the kit is read, which takes more of the program than a plan of one that is written
        from planner.api.looking import kit_of
        from planner.io.records.draft import rows_as_found
        from planner.kit.summary import sure_lines

        kit = kit_of(folder, in_place=True, named_is_enough=True)
        found = kit.proposals
        file = parse_toml(rows_as_found(found), "airframe.toml")
    else:
        file = read_toml(path)
    first = request.sources[0].resolve()
    reading = read_airframe(
        file,
        hints_of(folder),
        builtin_recipes(),
        workshop.currency,
        name=first.name if first.is_dir() else first.stem,
        unusable=tuple(aside.mesh for aside in folder.set_aside),
        default_filament=request.filament or request.held.filament,
        chosen=request.options,
        held=request.held,
    )
    if path is None:
        note = (
            "no airframe.toml was found: every mesh is printed as its name suggests, and has a station only"
            " where the meshes are drawn in place"
        )
        if (seats := sum(one.key == "seat" and one.sure for one in found)) > 0:
            note = (
                f"no airframe.toml was found: every mesh is printed as its name suggests, and {seats} of"
                f" {len(folder.meshes)} are seated where their ends and roots fit, aft of the wing root's"
                " leading edge"
            )
        seen = {one.mesh for one in found if one.sure}
        named = from_names([hint for hint in hints_of(folder) if hint.name in seen])
        told = [f"from names and shapes: {line}" for line in sure_lines(found)]
        return replace(reading, assumptions=(note, *kit.notes, *told, *named, *reading.assumptions))
    return reading


def hints_of(folder: MeshFolder) -> list[MeshHint]:
    """What the names of the meshes suggest."""
    from planner.io.records.part_record import MeshHint

    return [
        MeshHint(
            record.name,
            record.suggestion.copies * record.copies_in_file,
            record.suggestion.hand,
            record.suggestion.mirror,
            record.places_in_file if record.suggestion.copies == 1 else (),
        )
        for record in folder.meshes
    ]


def start_time(text: str | None, attendance: Attendance, now: datetime) -> datetime:
    """The start of the plan, aware, to the minute.

    Without a text it is ``now``. A time without an offset is wall time in the workshop's zone, or
    in that of ``now`` where the workshop names none.

    Raises
    ------
    RecordError
        when the text is no ISO 8601 date and time, or its year is not one to plan for
    """
    zone = ZoneInfo(attendance.zone) if _zoned(attendance) else now.tzinfo
    if text is None:
        return now.astimezone(zone).replace(second=0, microsecond=0)
    try:
        start = datetime.fromisoformat(text).replace(second=0, microsecond=0)
    except ValueError as error:
        raise RecordError(
            f"{text!r} is not a date and time.", where="--start", next_step="Write it like 2026-12-01T18:00."
        ) from error
    if not FIRST_YEAR <= start.year <= LAST_YEAR:
        raise RecordError(
            f"the year {start.year} is not between {FIRST_YEAR} and {LAST_YEAR}.",
            where="--start",
            next_step="Write it like 2026-12-01T18:00.",
        )
    return start.replace(tzinfo=zone) if start.tzinfo is None else start.astimezone(zone)


def mesh_folder(folder: Path, progress: Progress | None = None) -> MeshFolder:
    """The meshes of an airframe folder in the unit that its record declares; health only."""
    from planner.io.meshes.own_units import own_units
    from planner.io.records.airframe_record import declared_unit
    from planner.io.toml_file import read_toml

    record = folder / "airframe.toml"
    try:
        written = read_toml(record) if record.is_file() else None
    except RecordError:
        written = None  # a record that cannot be read is told where it is shown
    if written is None:
        return meshes_of((folder,), None, progress)
    return meshes_of((folder,), declared_unit(written), progress, own_units(written))
