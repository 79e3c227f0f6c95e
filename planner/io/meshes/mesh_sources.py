"""Which files of a folder are meshes, in an order that does not depend on the machine."""

from __future__ import annotations

import os
import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from planner.errors import InputError
from planner.io.meshes.archive import is_archive
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_formats import KNOWN_ASIDE, endings
from planner.model.plan import SetAside

_LONGEST_NAME = 200
_DEEPEST = 40  # folders within folders


@dataclass(frozen=True, slots=True)
class MeshSource:
    """A file to read and the name that it goes by."""

    name: str
    path: Path


def order_key(name: str) -> tuple[str, str]:
    """Without regard to case first, then letter by letter."""
    return name.casefold(), name


def find_sources(
    source: Path | Sequence[Path], limits: Limits
) -> tuple[tuple[MeshSource, ...], tuple[SetAside, ...]]:
    """Mesh files of a folder and its sub-folders, or the files that are named.

    Hidden entries, and sub-folders that hold a plan of ours, are passed over. Links that lead out
    of the folder are set aside.

    Raises
    ------
    InputError
        when a path is not there, or there are more files than the limit
    """
    paths = [source] if isinstance(source, Path) else list(source)
    found: list[MeshSource] = []
    aside: list[SetAside] = []
    for path in paths:
        if path.is_dir():
            _walk(path, path, path.resolve(), found, aside, limits)
        elif is_archive(path):
            raise InputError(
                "it is an archive, and parts are not read from within one.",
                where=str(path),
                next_step=f'Unpack it first: planner new "{path.name}" does, and so does planner plan.',
            )
        elif path.is_file():
            _sort_out(MeshSource(_text(path.name), path), found, aside)
        else:
            raise InputError("there is no such file or folder.", where=str(path))
    found = _once(found)
    if len(found) > limits.files:
        raise InputError(
            f"{len(found)} mesh files were found; the limit is {limits.files}.",
            where=str(paths[0]) if paths else "",
            next_step="Plan a smaller folder.",
        )
    return (
        tuple(sorted(_told_apart(found), key=lambda entry: order_key(entry.name))),
        tuple(sorted(aside, key=lambda entry: order_key(entry.mesh))),
    )


def _walk(
    folder: Path, top: Path, bounds: Path, found: list[MeshSource], aside: list[SetAside], limits: Limits
) -> None:
    try:
        with os.scandir(folder) as scan:
            entries = sorted(scan, key=lambda entry: entry.name)
    except OSError as error:
        if folder == top:
            raise InputError(f"the folder cannot be read: {_why(error)}.", where=str(folder)) from error
        aside.append(SetAside(_name(folder, top), f"the folder cannot be read: {_why(error)}."))
        return
    if len(folder.parts) - len(top.parts) > _DEEPEST:
        aside.append(SetAside(_shown(_name(folder, top)), f"it lies more than {_DEEPEST} folders deep."))
        return
    if folder != top and any(entry.name == "plan.json" for entry in entries):
        return
    for entry in entries:
        if entry.name.startswith(".") or entry.name == "__MACOSX":
            continue
        path = Path(entry.path)
        name = _name(path, top)
        suffix = path.suffix.lower()
        if entry.is_symlink():
            if suffix in endings() and not _stays(path, bounds):
                aside.append(
                    SetAside(name, "it is a link that leads out of the folder; copy the file instead.")
                )
                continue
            if path.is_dir():
                continue  # a linked folder inside is met where it stands; outside it is none of ours
        if entry.is_dir():
            _walk(path, top, bounds, found, aside, limits)
        elif suffix in (*endings(), *KNOWN_ASIDE):
            _sort_out(MeshSource(name, path), found, aside)
            if len(found) > 10 * limits.files:
                return


def _sort_out(entry: MeshSource, found: list[MeshSource], aside: list[SetAside]) -> None:
    suffix = entry.path.suffix.lower()
    if suffix not in endings():
        aside.append(
            SetAside(
                _shown(entry.name),
                f"{suffix or 'a file without ending'} is not read; export it as STL or 3MF.",
            )
        )
    elif not entry.path.is_file():
        aside.append(SetAside(_shown(entry.name), "it is no file, or a link that leads nowhere."))
    elif len(entry.name) > _LONGEST_NAME:
        aside.append(SetAside(_shown(entry.name), f"its name is longer than {_LONGEST_NAME} characters."))
    elif not entry.name.isprintable():
        aside.append(
            SetAside(_shown(entry.name), "its name holds characters that cannot be printed; rename it.")
        )
    else:
        found.append(entry)


def _once(found: list[MeshSource]) -> list[MeshSource]:
    """Drop a file that was named twice."""
    seen: dict[Path, MeshSource] = {}
    for entry in found:
        seen.setdefault(Path(os.path.abspath(entry.path)), entry)  # noqa: PTH100  links stay apart
    return list(seen.values())


def _told_apart(found: list[MeshSource]) -> list[MeshSource]:
    """Put the folder's name before names that occur more than once, then a number behind."""
    names = Counter(entry.name for entry in found)
    told = [
        MeshSource(f"{_text(entry.path.parent.name)}/{entry.name}", entry.path)
        if names[entry.name] > 1
        else entry
        for entry in found
    ]
    taken: set[str] = set()
    made = []
    for entry in told:
        name, number = entry.name, 2
        while name in taken:
            name, number = f"{entry.name} ({number})", number + 1
        taken.add(name)
        made.append(MeshSource(name, entry.path))
    return made


def _stays(path: Path, bounds: Path) -> bool:
    try:
        return path.resolve(strict=False).is_relative_to(bounds)
    except (OSError, RuntimeError):  # a loop of links
        return False


def _name(path: Path, top: Path) -> str:
    return _text(path.relative_to(top).as_posix())


def _text(name: str) -> str:
    """One spelling for accented letters; a byte that is no text is shown as such."""
    return unicodedata.normalize("NFC", os.fsencode(name).decode("utf-8", "backslashreplace"))


def _shown(name: str) -> str:
    cut = name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"
    return "".join(letter if letter.isprintable() else "?" for letter in cut)


def _why(error: OSError) -> str:
    return (error.strerror or type(error).__name__).lower()
