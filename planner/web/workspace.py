"""The workspace: one folder for each airframe, which the command line can plan as well."""

from __future__ import annotations

import contextlib
import errno
import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from planner.errors import InputError
from planner.web.names import folder_name, is_identifier

OWN = ".page"  # of an airframe folder: what the page derived; readers of meshes pass it over
RESULTS = "plan"
STUDY = "tradeoff"
BESIDE = "onward"  # below OWN: results of a plan that waits to be taken
STAGING = ".dropped"
REMOVED = ".removed"
FULL = (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))  # no room on the disk


def default_workspace() -> Path:
    """The user's data folder for this program."""
    from platformdirs import user_data_path

    return user_data_path("airframe-print-planner", appauthor=False) / "airframes"


class NotHere(Exception):
    """Nothing is kept under that name."""


@dataclass(frozen=True, slots=True)
class Workspace:
    """Folders of airframes beneath ``root``."""

    root: Path

    def prepare(self) -> None:
        """Make the folder; clear away what a killed page had begun to receive.

        Raises
        ------
        InputError
            when it cannot be made or written
        """
        try:
            self.root.mkdir(parents=True, exist_ok=True)
            with contextlib.suppress(PermissionError):  # it belongs to somebody else, who opened it to us
                self.root.chmod(0o700)
            shutil.rmtree(self.root / STAGING, ignore_errors=True)
            (self.root / STAGING).mkdir()
        except OSError as error:
            raise InputError(
                f"the workspace cannot be written ({error.strerror or error}).",
                where=str(self.root),
                next_step="Choose another --workspace.",
            ) from error

    def airframes(self) -> list[str]:
        """Identifiers of all airframes, the one touched last first."""
        found = [
            path
            for path in self.root.iterdir()
            if path.is_dir() and not path.is_symlink() and is_identifier(path.name)
        ]
        return [path.name for path in sorted(found, key=lambda p: (-p.stat().st_mtime, p.name))]

    def folder(self, identifier: str) -> Path:
        """The folder of an airframe.

        Raises
        ------
        NotHere
            when there is none, or the identifier is none
        """
        path = self.root / identifier
        if not is_identifier(identifier) or path.is_symlink() or not path.is_dir():
            raise NotHere(identifier)
        return path

    def adopt(self, staged: Path, name: str) -> str:
        """Move a folder that was received into its place; a number tells equal names apart."""
        stem = folder_name(name)
        number = 1
        while True:
            identifier = stem if number == 1 else f"{stem} {number}"
            target = self.root / identifier
            if not target.exists():
                staged.rename(target)
                return identifier
            number += 1

    def remove(self, identifier: str) -> None:
        """Put an airframe aside, where a person can fetch it back."""
        folder = self.folder(identifier)
        (self.root / REMOVED).mkdir(exist_ok=True)
        folder.rename(Path(tempfile.mkdtemp(dir=self.root / REMOVED)) / identifier)


def write_text(path: Path, text: str) -> None:
    """Write a file beside its place and rename it: a reader sees the old one or the new one."""
    fresh = written_beside(path, text)
    try:
        fresh.replace(path)
    except BaseException:
        fresh.unlink(missing_ok=True)
        raise


def written_beside(path: Path, text: str) -> Path:
    """A file beside its place, which takes it by being renamed; nothing is left where the disk is full."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, fresh = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        mask = os.umask(0)
        os.umask(mask)
        Path(fresh).chmod(0o666 & ~mask)
    except BaseException:
        Path(fresh).unlink(missing_ok=True)
        raise
    return Path(fresh)


def write_record(folder: Path, name: str, record: object) -> None:
    """Keep what the page derived of an airframe."""
    write_text(folder / OWN / name, _text(record))


@contextlib.contextmanager
def records_ready(folder: Path) -> Iterator[Callable[[str, object], None]]:
    """Several records that need no more room at the orderly end, when all of them take their places.

    What is given is written beside its place at once: where the disk is full, none takes its place.
    """
    ready: list[tuple[Path, Path]] = []

    def give(name: str, record: object) -> None:
        place = folder / OWN / name
        ready.append((written_beside(place, _text(record)), place))

    try:
        yield give
        for fresh, place in ready:
            fresh.replace(place)
    finally:
        for fresh, _ in ready:
            fresh.unlink(missing_ok=True)


def _text(record: object) -> str:
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"))


def read_record(folder: Path, name: str) -> dict[str, Any] | None:
    """What was kept under that name; nothing where it is not there or damaged."""
    try:
        record = json.loads((folder / OWN / name).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return record if isinstance(record, dict) else None
