"""Machine files of an airframe: those that wait to be read, what was read of them, their layers."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from planner.web.workspace import OWN, NotHere, read_record, write_record

MOVES = "moves.json"
FOLDER = "moves"
WAITING = "waiting"
EMPTY: dict[str, Any] = {"files": [], "base": "", "faults": [], "unread": []}


def moves_folder(folder: Path) -> Path:
    """Where layers and waiting files of an airframe lie."""
    return folder / OWN / FOLDER


def receive(folder: Path, files: Sequence[Path]) -> None:
    """Let files that were dropped wait to be read, each in a folder of its own: names may be equal."""
    for path in files:
        place = moves_folder(folder) / WAITING / secrets.token_hex(6)
        place.mkdir(parents=True)
        path.replace(place / path.name)


def waiting(folder: Path) -> list[Path]:
    """Files that wait to be read, the one that came first first."""
    place = moves_folder(folder) / WAITING
    if not place.is_dir():
        return []
    found = [path for own in place.iterdir() if own.is_dir() for path in own.iterdir()]
    return sorted(found, key=lambda path: (path.parent.stat().st_mtime_ns, path.name))


def read_files(folder: Path) -> dict[str, Any]:
    """What was read."""
    return {**EMPTY, **(read_record(folder, MOVES) or {})}


def keep_read(folder: Path, record: dict[str, Any]) -> None:
    """Keep what was read; layers of files that are in it no more go."""
    write_record(folder, MOVES, record)
    keys = {str(one.get("key")) for one in record["files"]}
    for path in moves_folder(folder).glob("*.*"):
        if path.is_file() and path.name.partition(".")[0] not in keys:
            path.unlink(missing_ok=True)


def forget(folder: Path, key: str) -> None:
    """Forget one file."""
    record = read_files(folder)
    left = [one for one in record["files"] if one["key"] != key]
    if len(left) == len(record["files"]):
        raise NotHere(key)
    keep_read(folder, {**record, "files": left})


def forget_all(folder: Path) -> None:
    """Forget everything, also what waits."""
    shutil.rmtree(moves_folder(folder), ignore_errors=True)
    (folder / OWN / MOVES).unlink(missing_ok=True)


def layer_files(folder: Path, key: str) -> tuple[Path, Path]:
    """The record and the beads of the layers of a file.

    Raises
    ------
    NotHere
        where there are none
    """
    record, beads = (moves_folder(folder) / f"{key}.{end}" for end in ("json", "bin"))
    if not key.isalnum() or not record.is_file() or not beads.is_file():
        raise NotHere(key)
    return record, beads
