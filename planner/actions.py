"""One function for each thing that a user can do; every face calls only this."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner.errors import InputError, PlanFault, RecordError

if TYPE_CHECKING:  # the stages are imported late, so that help and bad input answer at once
    from planner.files.airframe_record import AirframeReading
    from planner.files.meshes import MeshFolder
    from planner.files.part_record import MeshHint
    from planner.flow.job import Job, Progress
    from planner.model.attendance import Attendance
    from planner.model.mesh_check import FolderCheck
    from planner.model.plan import Plan
    from planner.model.workshop import Workshop

CACHE_LIMIT_BYTES = 500_000_000
EFFORTS = ("quick", "normal", "thorough")


@dataclass(frozen=True, slots=True)
class PlanRequest:
    """What the user asks for; ``None`` leaves it to the files and the built-in tables."""

    sources: tuple[Path, ...]
    out: Path = Path("out")
    workshop_file: Path | None = None
    airframe_file: Path | None = None
    printers: tuple[str, ...] = ()
    filament: str | None = None
    options: Mapping[str, str] = field(default_factory=dict)
    start: str | None = None
    effort: str = "normal"
    seed: int = 1
    workers: int = 1
    cluster: str | None = None
    cache_folder: Path | None = None
    unit: str | None = None


def plan_folder(request: PlanRequest, now: datetime, progress: Progress | None = None) -> Plan:
    """Read everything, plan, and write the results folder.

    Parameters
    ----------
    now : aware; the start of the plan when none is asked for

    Raises
    ------
    InputError
        when a file, a record or the place for the results cannot be used
    Infeasible
        when no plan is possible
    """
    from planner.files.bed_files import bed_files
    from planner.files.output import check_output, write_output
    from planner.flow.run import run
    from planner.report.bundle import documents

    check_output(request.out)
    job = read_job(request, now, progress)
    plan = run(job, progress)
    if progress is not None:
        progress("report", 0, 1)
    write_output(request.out, {**documents(plan), **bed_files(plan, job.meshes)})
    _trim_cache(request)
    return plan


def _trim_cache(request: PlanRequest) -> None:
    if request.cache_folder is not None:
        from planner.estimate.cache import FolderCache

        FolderCache(request.cache_folder).trim(CACHE_LIMIT_BYTES)


def default_cache() -> Path:
    """Where deposits are kept from one plan to the next; the folder may be deleted at any time."""
    from platformdirs import user_cache_path

    return user_cache_path("airframe-print-planner", appauthor=False) / "deposits"


def verify_plan(plan: Plan) -> None:
    """Check a plan by code that shares nothing with the code that made it.

    Raises
    ------
    PlanFault
        with every sentence that does not hold
    """
    from planner.flow.verify import faults

    found = faults(plan)
    if found:
        raise PlanFault("the plan failed its own check: " + "; ".join(found))


def check_folder(request: PlanRequest, now: datetime, progress: Progress | None = None) -> FolderCheck:
    """Look at the meshes only: health, size, unit, fit, printable wall."""
    from planner.flow.look import look

    job = read_job(request, now, progress)
    return look(job, progress)


def draft_files(folder: Path) -> tuple[tuple[Path, bool], ...]:
    """Draft ``airframe.toml`` and ``workshop.toml`` in the folder; says which were written.

    Files that exist are never touched.
    """
    from planner.files.builtin import TABLE_CURRENCY, builtin_filaments, builtin_printers, builtin_recipes
    from planner.files.draft import airframe_draft, workshop_draft
    from planner.files.output import write_new

    meshes = _meshes((folder,), None, None)
    if not meshes.meshes:
        raise InputError(
            "the folder holds no usable mesh.",
            where=str(folder),
            next_step="Put STL, 3MF or OBJ files into it.",
        )
    recipes = tuple(builtin_recipes().values())
    airframe = airframe_draft(folder.resolve().name, _hints(meshes), recipes)
    workshop = workshop_draft(
        tuple(builtin_printers().values()), tuple(builtin_filaments().values()), TABLE_CURRENCY
    )
    made = []
    for name, text in (("airframe.toml", airframe), ("workshop.toml", workshop)):
        made.append((folder / name, write_new(folder / name, text)))
    return tuple(made)


def plan_text(plan: Plan, *, as_json: bool, report: Path) -> str:
    """A plan for the terminal: the summary, or ``plan.json``."""
    if as_json:
        from planner.report.plan_json import plan_json

        return plan_json(plan)
    from planner.report.summary import summary

    return summary(plan, str(report))


def check_text(check: FolderCheck) -> str:
    """A look at the meshes for the terminal."""
    from planner.report.check_text import check_text as text

    return text(check)


def prepare(progress: Progress | None = None) -> None:
    """Compile everything that a plan needs, by planning a small airframe made on the spot."""
    from planner.flow.run import run
    from planner.flow.sample import sample_job

    run(sample_job(), progress)


def read_job(request: PlanRequest, now: datetime, progress: Progress | None = None) -> Job:
    """Read meshes and records into one job."""
    folder, workshop, assumed = _read(request, progress)
    if not folder.meshes:
        reasons = "; ".join(f"{aside.mesh}: {aside.reason}" for aside in folder.set_aside[:5])
        raise InputError(
            f"no usable mesh was found{': ' + reasons if reasons else ''}.",
            where=", ".join(str(source) for source in request.sources),
            next_step="Give a folder with STL, 3MF or OBJ files.",
        )
    return _job(request, folder, workshop, now, assumed)


def _read(request: PlanRequest, progress: Progress | None) -> tuple[MeshFolder, Workshop, tuple[str, ...]]:
    from planner.files.airframe_record import declared_unit
    from planner.files.toml_file import read_toml

    if request.effort not in EFFORTS:
        raise RecordError(f"{request.effort!r} is not one of: {', '.join(EFFORTS)}.", where="--effort")
    workshop, assumed = _workshop(request)
    airframe_file = _beside(request, request.airframe_file, "airframe.toml")
    unit = request.unit or (declared_unit(read_toml(airframe_file)) if airframe_file else None)
    folder = _meshes(request.sources, unit, progress)
    return folder, workshop, assumed


def _meshes(sources: Sequence[Path], unit: str | None, progress: Progress | None) -> MeshFolder:
    from planner.files.limits import Limits
    from planner.files.meshes import read_meshes

    source: Path | tuple[Path, ...] = sources[0] if len(sources) == 1 else tuple(sources)
    report = None if progress is None else (lambda done, total: progress("read meshes", done, total))
    return read_meshes(source, limits=Limits(), unit=unit, progress=report)


def _beside(request: PlanRequest, given: Path | None, name: str) -> Path | None:
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
    from planner.files.builtin import builtin_filaments, builtin_printers, builtin_workshop, chosen_printers
    from planner.files.toml_file import read_toml
    from planner.files.workshop_record import read_workshop

    path = _beside(request, request.workshop_file, "workshop.toml")
    assumed: list[str] = []
    if path is not None:
        file = read_toml(path)
        written = file.values.get("currency", "EUR")
        currency = written if isinstance(written, str) else "EUR"
        printers = builtin_printers(currency)
        workshop = read_workshop(file, printers, builtin_filaments(currency))
        if "attendance" not in file.values:
            assumed.append("workshop.toml names no attendance: somebody is taken to be there at every hour")
    else:
        printers = builtin_printers()
        workshop = builtin_workshop(builtin_filaments(), printers)
        assumed.append(
            f'no workshop.toml was found: one built-in printer "{workshop.printers[0].name}", every built-in'
            " filament at its list price, an empty shelf, and somebody there at every hour are assumed"
        )
    if request.printers:
        own = {printer.name: printer for printer in workshop.printers}
        workshop = replace(workshop, printers=chosen_printers(request.printers, {**printers, **own}))
        assumed.append(f"printers as chosen: {', '.join(request.printers)}")
    return workshop, tuple(assumed)


def _job(
    request: PlanRequest,
    folder: MeshFolder,
    workshop: Workshop,
    now: datetime,
    assumed: tuple[str, ...],
) -> Job:
    from planner.estimate.cache import FolderCache
    from planner.flow.job import Job

    reading = _airframe(request, folder, workshop)
    if request.filament is not None:
        workshop.filament(request.filament)
    return Job(
        airframe=reading.airframe,
        workshop=workshop,
        meshes={record.name: record.mesh for record in folder.meshes},
        start=start_time(request.start, workshop.attendance, now),
        seed=request.seed,
        effort=request.effort,
        workers=request.workers,
        cluster=request.cluster,
        cache=FolderCache(request.cache_folder) if request.cache_folder else None,
        set_aside=folder.set_aside,
        assumptions=(*assumed, *reading.assumptions, *folder.assumptions),
        findings=(*folder.findings, *(f for record in folder.meshes for f in record.findings)),
        watertight={record.name: record.watertight for record in folder.meshes},
    )


def _airframe(request: PlanRequest, folder: MeshFolder, workshop: Workshop) -> AirframeReading:
    from planner.files.airframe_record import read_airframe
    from planner.files.builtin import builtin_recipes
    from planner.files.toml_file import parse_toml, read_toml

    path = _beside(request, request.airframe_file, "airframe.toml")
    file = read_toml(path) if path is not None else parse_toml("", "airframe.toml")
    first = request.sources[0].resolve()
    reading = read_airframe(
        file,
        _hints(folder),
        builtin_recipes(),
        workshop.currency,
        name=first.name if first.is_dir() else first.stem,
        unusable=tuple(aside.mesh for aside in folder.set_aside),
        default_filament=request.filament,
        chosen=request.options,
    )
    if path is None:
        note = "no airframe.toml was found: every mesh is printed as its name suggests, nothing has a station"
        return replace(reading, assumptions=(note, *reading.assumptions))
    return reading


def _hints(folder: MeshFolder) -> list[MeshHint]:
    from planner.files.part_record import MeshHint

    return [
        MeshHint(
            record.name,
            record.suggestion.copies * record.copies_in_file,
            record.suggestion.hand,
            record.suggestion.mirror,
        )
        for record in folder.meshes
    ]


def start_time(text: str | None, attendance: Attendance, now: datetime) -> datetime:
    """The start of the plan, aware, to the minute.

    Without a text it is ``now``. A time without an offset is wall time in the workshop's zone.

    Raises
    ------
    RecordError
        when the text is no ISO 8601 date and time
    """
    zoned = attendance.weekly or attendance.dates or attendance.zone != "UTC"
    zone = ZoneInfo(attendance.zone) if zoned or text is not None else now.tzinfo
    if text is None:
        return now.astimezone(zone).replace(second=0, microsecond=0)
    try:
        start = datetime.fromisoformat(text).replace(second=0, microsecond=0)
    except ValueError as error:
        raise RecordError(
            f"{text!r} is not a date and time.", where="--start", next_step="Write it like 2026-12-01T18:00."
        ) from error
    return start.replace(tzinfo=zone) if start.tzinfo is None else start.astimezone(zone)


def default_workers() -> int:
    """Processors that this process may use, at most eight."""
    return max(
        1, min(8, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
    )
