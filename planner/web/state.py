"""An airframe as the page knows it: its meshes, its records, and what is wrong with them."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from functools import cached_property
from operator import itemgetter
from pathlib import Path
from stat import S_ISREG
from typing import Any

from planner.api import Records, read_records
from planner.api.formats import KNOWN_ASIDE, MeshHint, endings
from planner.errors import InputError
from planner.web.settings import zone_for
from planner.web.workspace import RESULTS, STUDY, read_record

AIRFRAME, WORKSHOP = "airframe.toml", "workshop.toml"
LOOK = "look.json"


def stamp_of(folder: Path) -> str:
    """Changes when a mesh of the folder comes, goes or changes, or its declared unit does."""
    listed = hashlib.sha256()
    for parts, told in sorted(_meshes_in(folder), key=itemgetter(0)):
        listed.update(f"{'/'.join(parts)}\0{told.st_size}\0{told.st_mtime_ns}\n".encode())
    for line in _text(folder / AIRFRAME).splitlines():
        if line.strip().startswith("unit"):
            listed.update(line.encode())
    return listed.hexdigest()


def _meshes_in(folder: Path) -> Iterator[tuple[tuple[str, ...], os.stat_result]]:
    """Every file that may be a mesh: folders and name within the folder, and what the system says of it."""
    kinds = {*endings(), *KNOWN_ASIDE}
    for place, below, names in os.walk(folder):
        inside = Path(place).relative_to(folder).parts
        if not inside:
            below[:] = [name for name in below if not name.startswith(".") and name not in (RESULTS, STUDY)]
            names = [name for name in names if not name.startswith(".")]
        for name in names:
            file = Path(place, name)
            if file.suffix.lower() not in kinds:
                continue
            with suppress(OSError):  # it may go at any time
                told = file.stat()
                if S_ISREG(told.st_mode):
                    yield (*inside, name), told


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError):
        return ""


@dataclass(frozen=True)
class State:
    """One airframe folder, read once.

    ``workshop_file`` is the one in force: in the folder, else the one that the workspace shares.
    """

    folder: Path
    airframe_text: str | None
    workshop_text: str | None
    workshop_file: Path
    look: dict[str, Any] | None
    stamp: str  # of its meshes as they lie there, looked at or not

    @property
    def identifier(self) -> str:
        """Name of the folder."""
        return self.folder.name

    @property
    def airframe_file(self) -> Path:
        """Where the airframe's record stands."""
        return self.folder / AIRFRAME

    @cached_property
    def revision(self) -> str:
        """Changes with every choice and every mesh."""
        told = f"{self.airframe_text}\0{self.workshop_text}\0{self.stamp}"
        return hashlib.sha256(told.encode()).hexdigest()[:16]

    @cached_property
    def hints(self) -> list[MeshHint]:
        """The usable meshes and what their names suggest."""
        rows = (self.look or {}).get("meshes", [])
        return [
            MeshHint(
                row["name"], row["copies"], row["hand"], row["mirror"],
                tuple(tuple(place) for place in row.get("places", ())),
            )
            for row in rows
        ]  # fmt: skip

    @cached_property
    def _reading(self) -> Records | InputError:
        try:
            return read_records_of(self, self.airframe_text, self.workshop_text)
        except InputError as error:
            return error

    @property
    def records(self) -> Records | None:
        """What the files say; ``None`` when they are wrong."""
        return None if isinstance(self._reading, InputError) else self._reading

    @property
    def looked(self) -> bool:
        """Whether the meshes are known; until then nobody can say which of them a record may name."""
        return self.look is not None

    @property
    def wrong(self) -> str:
        """What is wrong with the files, in the words of the reader; empty when nothing is, or not known."""
        return str(self._reading) if self.looked and isinstance(self._reading, InputError) else ""

    @property
    def shared(self) -> bool:
        """Whether the workshop is the one of the whole workspace."""
        return self.workshop_file.parent != self.folder


def read_records_of(state: State, airframe: str | None, workshop: str | None) -> Records:
    """Read other texts for the same meshes.

    Raises
    ------
    RecordError
        when they are wrong
    """
    aside = [mesh for mesh, _ in (state.look or {}).get("set_aside", [])]
    return read_records(
        airframe, workshop, state.hints, name=state.folder.name, unusable=aside, zone=zone_for(state.folder)
    )


def read_state(folder: Path) -> State:
    """Read an airframe folder; a look at the meshes is taken from what was kept, if it still holds."""
    own, shared = folder / WORKSHOP, folder.parent / WORKSHOP
    workshop = own if own.is_file() else shared
    look, stamp = read_record(folder, LOOK), stamp_of(folder)
    if look is not None and look.get("stamp") != stamp:
        look = None
    return State(
        folder,
        _read(folder / AIRFRAME),
        _read(workshop),
        workshop,
        look,
        stamp,
    )


def _read(path: Path) -> str | None:
    if not path.is_file():
        return None
    try:
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        return "\ufffd"  # no TOML: the reader says so
