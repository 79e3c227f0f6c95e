"""A zip archive of parts, unpacked into a folder beside it: all of what can be used, or nothing."""

from __future__ import annotations

import os
import stat
import zipfile
import zlib
from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from planner.errors import InputError, MeshError
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_formats import endings, formats_told
from planner.io.meshes.package import DAMAGE, refuse_bombs
from planner.io.results.left import clear_left, in_the_making
from planner.kit.naming import folder_section

ARCHIVE = ".zip"
_RECORDS = ("airframe.toml", "workshop.toml")
_LONGEST = 200  # characters of a path within the archive
_DRIVE = ":"
_BY_HAND = "Unpack it by hand, look at what it holds, and give the folder."


def is_archive(path: Path) -> bool:
    """Whether a path is a file that ends as zip archives do."""
    return path.suffix.lower() == ARCHIVE and path.is_file()


def unpack(path: Path, limits: Limits, *, again: bool = False) -> Path:
    """The folder beside an archive into which its meshes and records were unpacked.

    The folder has the archive's name. What is no mesh and no record stays packed; a single folder that holds
    all the rest is left out of the paths, unless it is called a wing, a tail or a fuselage.

    Parameters
    ----------
    again : a folder into which this archive was unpacked before, and whose meshes are still the same, is
        taken as it is; records may have been written or changed there

    Source: PKWARE, APPNOTE.TXT - ZIP file format specification (from memory).

    Raises
    ------
    InputError
        when it is no archive, damaged, over a limit, holds no mesh, names a path that leads out of its
        folder, a link or one name twice, or the folder is there already: nothing is written then
    """
    target = path.with_suffix("")
    clear_left(target)
    if target.exists() and not (again and target.is_dir()):
        raise _there_already(path, target, "")
    try:
        with zipfile.ZipFile(path) as archive:
            entries = archive.infolist()
            refuse_bombs(entries, limits)
            wanted = _wanted(path, entries, limits)
            if target.exists():
                other = _other_mesh(wanted, target)
                if other is not None:
                    raise _there_already(
                        path, target, f", and {_shown(str(other))} is not the archive's there"
                    )
            else:
                _write(archive, wanted, target)
    except DAMAGE as error:
        raise InputError(
            "the archive is damaged, or no zip archive.", where=str(path), next_step="Fetch it again."
        ) from error
    except MeshError as error:
        raise InputError(error.what, where=str(path), next_step=_BY_HAND) from error
    except OSError as error:
        raise InputError(
            f"the archive cannot be unpacked: {(error.strerror or type(error).__name__).lower()}.",
            where=str(path),
            next_step="Unpack it elsewhere, and give the folder.",
        ) from error
    return target


def _wanted(
    path: Path, entries: list[zipfile.ZipInfo], limits: Limits
) -> dict[PurePosixPath, zipfile.ZipInfo]:
    """What is unpacked, and under which path."""
    found: dict[PurePosixPath, zipfile.ZipInfo] = {}
    seen: set[str] = set()
    for entry in entries:
        name = _inside(path, entry)
        hidden = any(part.startswith(".") or part == "__MACOSX" for part in name.parts)
        able = name.suffix.lower() in endings() or name.name in _RECORDS
        if entry.is_dir() or hidden or not able:
            continue
        if str(name).casefold() in seen:
            raise InputError(
                f"the archive names {_shown(str(name))} twice.", where=str(path), next_step=_BY_HAND
            )
        seen.add(str(name).casefold())
        found[name] = entry
    if not any(name.suffix.lower() in endings() for name in found):
        raise InputError(
            "the archive holds no mesh.", where=str(path), next_step=f"Pack {formats_told()} files."
        )
    if len(found) > limits.files:
        raise InputError(
            f"the archive holds {len(found)} meshes; the limit is {limits.files}.",
            where=str(path),
            next_step=_BY_HAND,
        )
    tops = {name.parts[0] for name in found if len(name.parts) > 1}
    around = len(tops) == 1 and all(len(name.parts) > 1 for name in found)
    if around and folder_section(f"{tops.pop()}/part") is None:
        found = {PurePosixPath(*name.parts[1:]): entry for name, entry in found.items()}
    return found


def _inside(path: Path, entry: zipfile.ZipInfo) -> PurePosixPath:
    """The path of an entry; refused where it leads out of the folder, or is a link."""
    text = entry.filename.replace("\\", "/")
    name = PurePosixPath(text)
    leads_out = text.startswith("/") or ".." in name.parts or any(_DRIVE in part for part in name.parts)
    if leads_out or stat.S_ISLNK(entry.external_attr >> 16):
        what = "a link" if not leads_out else "a path that leads out of its folder"
        raise InputError(
            f"the archive holds {what}: {_shown(entry.filename)}; nothing was unpacked.",
            where=str(path),
            next_step=_BY_HAND,
        )
    if len(text) > _LONGEST or not text.isprintable():
        raise InputError(
            f"the archive holds a path that is too long or cannot be shown: {_shown(text)}.",
            where=str(path),
            next_step=_BY_HAND,
        )
    return name


def _there_already(path: Path, target: Path, more: str) -> InputError:
    return InputError(
        f"the folder {target.name} is there already{more}; nothing was unpacked.",
        where=str(path),
        next_step=f"Give that folder, or rename it: {target}",
    )


def _other_mesh(wanted: Mapping[PurePosixPath, zipfile.ZipInfo], target: Path) -> PurePosixPath | None:
    """The first mesh of the archive that is not the same in a folder, by length and checksum."""
    for name, entry in wanted.items():
        file = target / name
        if name.name in _RECORDS:
            continue
        if not file.is_file() or file.stat().st_size != entry.file_size:
            return name
        if zlib.crc32(file.read_bytes()) != entry.CRC:
            return name
    return None


def _write(archive: zipfile.ZipFile, wanted: dict[PurePosixPath, zipfile.ZipInfo], target: Path) -> None:
    """All files into a folder of another name, which then takes the right one: never half of them."""
    with in_the_making(target) as made:
        for name, entry in wanted.items():
            place = made / name
            place.parent.mkdir(parents=True, exist_ok=True)
            with archive.open(entry) as stream:
                data = stream.read(entry.file_size + 1)  # one byte more shows an entry that lies
            if len(data) != entry.file_size:
                raise MeshError(f"{_shown(str(name))} has another size than announced.")
            place.write_bytes(data)
        mask = os.umask(0)
        os.umask(mask)
        made.chmod(0o777 & ~mask)
        os.rename(made, target)  # noqa: PTH104  never onto a folder that holds anything


def _shown(text: str) -> str:
    cut = text if len(text) <= 80 else text[:79] + "…"
    return "".join(letter if letter.isprintable() else "?" for letter in cut)
