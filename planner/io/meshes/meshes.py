"""Read a folder of meshes: units, health, copies and hands, doubts. One bad mesh never loses the others."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from planner.errors import MeshError, PlannerError
from planner.geometry.mesh.health import Health, examine
from planner.geometry.mesh.mesh import TriangleMesh, bounds_of
from planner.geometry.mesh.parking import Parked, Parking
from planner.io.meshes.kept_files import KeptFiles, NothingKept
from planner.io.meshes.likeness import likeness_findings
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_findings import health_findings
from planner.io.meshes.mesh_folder import MeshFolder, MeshRecord
from planner.io.meshes.mesh_formats import BUILT_IN, MeshFormat, format_of
from planner.io.meshes.mesh_sources import MeshSource, find_sources, order_key
from planner.io.meshes.name_habits import Suggestion, suggest
from planner.io.meshes.own_units import OwnUnit, factor_of, own_unit_of
from planner.io.meshes.raw_mesh import EXPORT_AGAIN, RawMesh
from planner.io.meshes.unit_doubts import unit_doubts
from planner.io.meshes.unit_guess import LARGE_MM, SHORT, SMALL_MM, UnitGuess, guess_unit, unit_named
from planner.io.meshes.wholes import whole_findings
from planner.model.finding import Finding
from planner.model.plan import SetAside
from planner.units import LENGTH_MM

__all__ = ["MeshFolder", "MeshRecord", "read_file", "read_meshes"]

Progress = Callable[[int, int], None]
_LARGEST = 1e9  # in the unit of the file; beyond it the numbers are damage


@dataclass(frozen=True, eq=False, slots=True)
class _Read:
    name: str
    raw: RawMesh
    longest: float
    parked: Parked | None = None  # its triangles, where ``raw`` has none left

    def parked_at(self, place: Parking) -> _Read:
        """The same with its triangles there, where they have no room in memory."""
        kept = place.put(self.raw.triangles)
        if not isinstance(kept, Parked):
            return self
        return replace(self, raw=replace(self.raw, triangles=self.raw.triangles[:0].copy()), parked=kept)

    @property
    def whole(self) -> RawMesh:
        """The mesh with its triangles."""
        return self.raw if self.parked is None else replace(self.raw, triangles=self.parked.fetched())


def read_meshes(
    source: Path | Sequence[Path],
    *,
    limits: Limits,
    unit: str | None = None,
    own: Sequence[OwnUnit] = (),
    progress: Progress | None = None,
    kept: KeptFiles | None = None,
    held_bytes: int | None = None,
) -> MeshFolder:
    """Read all meshes of a folder with its sub-folders, or of the files that are named.

    Parameters
    ----------
    source : a folder, a file, or several of either
    limits : what is too large to be read
    unit : of the meshes that declare none; guessed over all of them when it is not given
    own : what the rows of parts say of the lengths of their meshes; it holds before all else
    progress : called with how many files are done, and how many there are
    kept : what an earlier reading of this process found, and where this one keeps what it finds
    held_bytes : of triangles that stay in memory; the others wait on the disk. None: all stay

    Raises
    ------
    InputError
        when a path is not there, the unit is not known, or there are too many files
    """
    kept = NothingKept() if kept is None else kept
    kept.begin()
    taken = unit_named(unit) if unit is not None else None
    sources, aside_found = find_sources(source, limits)
    aside = list(aside_found)
    waiting, settled = Parking(held_bytes or 0), Parking(held_bytes or 0)
    read: list[_Read] = []
    for done, entry in enumerate(sources):
        if progress is not None:
            progress(done, len(sources))
        found, refused = kept.of_file(entry.path, partial(_meshes_of, entry, limits))
        read += found if held_bytes is None else [one.parked_at(waiting) for one in found]
        aside += refused
    theirs = {entry.name: own_unit_of(entry.name, own) for entry in read}
    bare = [entry.longest for entry in read if not entry.raw.unit and theirs[entry.name] is None]
    guess = UnitGuess(taken) if taken is not None else guess_unit(bare)
    many = len(read)
    suggestions = suggest([entry.name for entry in read])
    records = []
    read.reverse()
    for suggestion in suggestions:
        mesh = read.pop()  # what the file holds goes as soon as its record is made
        if mesh.raw.copies > 1:  # the file says it itself
            suggestion = replace(suggestion, copies=1)
        own_unit = theirs[mesh.name]
        key = id(mesh), guess.unit, own_unit, suggestion
        made = kept.of(key, partial(_record, mesh, guess, own_unit, suggestion))
        if isinstance(made, MeshRecord):
            if held_bytes is not None:
                made.mesh.park(settled)
            records.append(made)
        else:
            aside.append(made)
    if progress is not None:
        progress(len(sources), len(sources))
    records.sort(key=lambda record: order_key(record.name))
    doubts = kept.of(tuple(map(id, records)), partial(_doubts, records))
    return MeshFolder(
        meshes=tuple(records),
        set_aside=tuple(sorted(aside, key=lambda entry: order_key(entry.mesh))),
        findings=(*_unit_findings(guess, bare), *doubts),
        assumptions=_assumptions(guess, bare, many, told=taken is not None),
    )


def _doubts(records: Sequence[MeshRecord]) -> tuple[Finding, ...]:
    """What is doubted of meshes side by side."""
    likeness = likeness_findings(records)
    wholes = whole_findings(records, {finding.about for finding in likeness})
    return (*unit_doubts(records), *likeness, *wholes)


def read_file(data: bytes, suffix: str, limits: Limits) -> tuple[RawMesh, ...]:
    """The meshes in the bytes of a file, by the ending of its name, in the unit of the file.

    Raises
    ------
    MeshError
        when the bytes are no such file, damaged, or over a limit
    MissingExtra
        when an optional package is needed
    """
    if not data:
        raise MeshError("the file is empty.", next_step=EXPORT_AGAIN)
    kind = format_of(suffix)
    if kind is not None:
        most = min(limits.file_bytes, kind.file_bytes or limits.file_bytes)
        if len(data) > most:
            raise MeshError(
                f"the file has {len(data)} bytes; the limit of {kind.name} is {most}.",
                next_step="Export it coarser.",
            )
        return tuple(kind.read(data, limits)) if kind in BUILT_IN else _by_others(kind, data, limits)
    raise MeshError(f"files that end in {suffix!r} are not read.", next_step="Export it as STL or 3MF.")


def _by_others(kind: MeshFormat, data: bytes, limits: Limits) -> tuple[RawMesh, ...]:
    """What the reader of another package makes of a file; whatever goes wrong in it is told of this file."""
    try:
        return tuple(kind.read(data, limits))
    except PlannerError:
        raise
    except Exception as error:
        raise MeshError(
            f"the reader of {kind.name} files failed ({type(error).__name__}: {error}).",
            next_step="Export it as STL or 3MF, or tell the makers of that reader.",
        ) from error


def _meshes_of(entry: MeshSource, limits: Limits) -> tuple[list[_Read], list[SetAside]]:
    """The meshes of a file, and those of it that cannot be used."""
    try:
        size = entry.path.stat().st_size
        if size > limits.file_bytes:
            raise MeshError(
                f"the file has {size} bytes; the limit is {limits.file_bytes}.",
                next_step="Export it coarser.",
            )
        raws = read_file(entry.path.read_bytes(), entry.path.suffix, limits)
    except PlannerError as error:
        return [], [SetAside(entry.name, str(error))]
    except OSError as error:
        said = f"the file cannot be read: {(error.strerror or 'unknown').lower()}."
        return [], [SetAside(entry.name, said)]
    except Exception as error:
        return [], [SetAside(entry.name, _failed(error))]
    names = _names(entry.name, raws)
    read: list[_Read] = []
    aside: list[SetAside] = []
    for name, raw in zip(names, raws, strict=True):
        try:
            read.append(_Read(name, raw, _longest(raw)))
        except MeshError as error:
            aside.append(SetAside(name, str(error)))
    return read, aside


def _failed(error: Exception) -> str:
    """Whatever goes wrong in a reader: the mesh is set aside, the others are not lost."""
    if isinstance(error, MemoryError):
        return "the file does not fit into memory."
    said = "".join(c if c.isprintable() else " " for c in str(error))[:200]
    return (
        f"reading it failed ({type(error).__name__}: {said}), a fault of the reader. Export it again; if that"
        " does not help, please report it with the file."
    )


def _longest(raw: RawMesh) -> float:
    if len(raw.triangles) == 0:
        raise MeshError("the mesh holds no triangle.", next_step=EXPORT_AGAIN)
    with np.errstate(invalid="ignore"):  # what is no number is told, not warned of
        low, high = bounds_of(raw.triangles).astype(np.float64)
    if not (np.isfinite(low).all() and np.isfinite(high).all()):
        raise MeshError("a coordinate is not a finite number.", next_step=EXPORT_AGAIN)
    if max(-low.min(), high.max()) > _LARGEST:
        raise MeshError(
            f"a coordinate is as large as {max(-low.min(), high.max()):.1e}; the limit is {_LARGEST:.0e}.",
            next_step=EXPORT_AGAIN,
        )
    longest = float((high - low).max())
    if longest <= 0.0:
        raise MeshError("all corners of the mesh lie in one point.", next_step=EXPORT_AGAIN)
    return longest


def _names(file: str, raws: tuple[RawMesh, ...]) -> list[str]:
    """The file's name; with the object's behind it where there are several."""
    if len(raws) == 1:
        return [file]
    names: dict[str, None] = {}
    last: dict[str, int] = {}
    for number, raw in enumerate(raws, start=1):
        label = "".join(letter if letter.isprintable() else " " for letter in raw.label).strip()
        room = max(20, 190 - len(file))
        base = f"{file}#{label[:room] or f'object {number}'}"
        name, again = base, last.get(base, 2)
        while name in names:
            name, again = f"{base} ({again})", again + 1
        names[name], last[base] = None, again
    return list(names)


def _record(
    entry: _Read, guess: UnitGuess, own: OwnUnit | None, suggestion: Suggestion
) -> MeshRecord | SetAside:
    raw = entry.whole
    unit = raw.unit or guess.unit
    factor = LENGTH_MM[unit] if own is None else factor_of(own, unit)
    unit = own.unit if own is not None and own.unit is not None else unit
    try:
        health = examine(TriangleMesh(raw.scaled(factor)))
        _refuse_flat(health)
    except PlannerError as error:
        return SetAside(entry.name, str(error))
    except Exception as error:
        return SetAside(entry.name, _failed(error))
    return MeshRecord(
        name=entry.name,
        mesh=health.mesh,
        file_unit=unit,
        unit_declared=raw.unit is not None or own is not None,
        watertight=health.watertight,
        health=health,
        suggestion=suggestion,
        copies_in_file=raw.copies,
        content_hash=content_hash(health.mesh),
        findings=(
            *(_size_findings(entry, unit) if own is None else ()),
            *health_findings(entry.name, raw, health),
        ),
        places_in_file=raw.places(factor),
    )


def _refuse_flat(health: Health) -> None:
    if health.volume <= 0.0:
        raise MeshError("the mesh is flat: it encloses no volume.", next_step=EXPORT_AGAIN)


def content_hash(mesh: TriangleMesh) -> str:
    """SHA-256, hexadecimal, of the corners as little-endian float64."""
    return hashlib.sha256(np.ascontiguousarray(mesh.triangles, dtype="<f8").data).hexdigest()


def _size_findings(entry: _Read, unit: str) -> tuple[Finding, ...]:
    length = entry.longest * LENGTH_MM[unit]
    if SMALL_MM <= length <= LARGE_MM:
        return ()
    said = "declared in the file" if entry.raw.unit else "taken for all files"
    text = (
        f"It is {length:.3g} mm long when read in {SHORT[unit]}, the unit {said}; "
        "its own unit may be another."
    )
    return (Finding(entry.name, text),)


def _unit_findings(guess: UnitGuess, bare: list[float]) -> tuple[Finding, ...]:
    """``bare``: the lengths of the meshes that declare no unit."""
    if guess.rival is None or not bare:
        return ()
    longest = max(bare)
    text = (
        f"The files declare no unit. They are read in {SHORT[guess.unit]} "
        f"(longest part {longest * LENGTH_MM[guess.unit]:.0f} mm); "
        f"{SHORT[guess.rival]} is possible too ({longest * LENGTH_MM[guess.rival]:.0f} mm). Say which it is."
    )
    return (Finding("unit", text),)


def _assumptions(guess: UnitGuess, bare: list[float], many: int, *, told: bool) -> tuple[str, ...]:
    if not bare or told:
        return ()
    return (
        f"{len(bare)} of {many} meshes declare no unit and are taken to be in {SHORT[guess.unit]}, "
        "judging by their sizes",
    )
