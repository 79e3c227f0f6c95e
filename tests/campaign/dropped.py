"""A folder as it was dropped, in a form that can be written down; less of it that fails in the same way."""

from __future__ import annotations

import base64
import os
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from tests.builders import box, stl_bytes
from tests.campaign.bytewise import smallest
from tests.campaign.reduce import alike, fewest
from tests.small_job import write_small_job

Faults = Callable[["Dropped"], str]
PLAIN = stl_bytes(box(20.0, 10.0, 5.0))  # what any mesh may be made
BOX = "a box"  # how it is written down
TRIES = 40  # of a command for each file


@dataclass(frozen=True, slots=True)
class Entry:
    """A file with its bytes; a link where ``link`` is its aim, beneath the folder; else an empty folder."""

    path: str
    data: bytes | None = None
    link: str = ""


@dataclass(frozen=True, slots=True)
class Dropped:
    """All that lies in a folder, whether it is given as an archive, whether the process is a fresh one."""

    entries: tuple[Entry, ...]
    packed: bool = False
    fresh: bool = False

    @classmethod
    def taken(cls, folder: Path, *, packed: bool, fresh: bool) -> Dropped:
        """As it lies there; links are not followed."""
        return cls(tuple(sorted(_entries(folder), key=lambda one: one.path)), packed, fresh)

    @classmethod
    def of(cls, record: Mapping[str, Any]) -> Dropped:
        """As it was written down."""
        known = {f"the small job's {path}": data for data, path in _small().items()} | {BOX: PLAIN}
        found = []
        for row in record["entries"]:
            data = known[row["as"]] if "as" in row else None
            if "text" in row:
                data = row["text"].encode("utf-8")
            elif "base64" in row:
                data = base64.b64decode(row["base64"])
            found.append(Entry(row["path"], data, row.get("link", "")))
        return cls(tuple(found), record["packed"], record["fresh"])

    def record(self) -> dict[str, Any]:
        """To be written down: well-known meshes by their names, text as it is, else base64."""
        known = {data: f"the small job's {path}" for data, path in _small().items()} | {PLAIN: BOX}
        rows = []
        for one in self.entries:
            row = {"path": one.path} | ({"link": one.link} if one.link else {})
            if one.data in known:
                row["as"] = known[one.data]
            elif one.data is not None:
                row |= _written(one.data)
            rows.append(row)
        return {"entries": rows, "packed": self.packed, "fresh": self.fresh}

    def laid(self, folder: Path) -> None:
        """Make the folder."""
        folder.mkdir(parents=True)
        for one in self.entries:
            path = folder / one.path
            path.parent.mkdir(parents=True, exist_ok=True)
            if one.link:
                path.symlink_to(folder / one.link)
            elif one.data is None:
                path.mkdir()
            else:
                path.write_bytes(one.data)


def _written(data: bytes) -> dict[str, str]:
    try:
        return {"text": data.decode("utf-8")}
    except UnicodeDecodeError:
        return {"base64": base64.b64encode(data).decode("ascii")}


def _small() -> dict[bytes, str]:
    """The files of the small job, by their bytes."""
    with TemporaryDirectory() as name:
        return {path.read_bytes(): path.name for path in write_small_job(Path(name) / "kit").iterdir()}


def _entries(folder: Path) -> Iterator[Entry]:
    for at, below, files in os.walk(folder):
        place = Path(at)
        for name in (*below, *files):
            path = place / name
            own = path.relative_to(folder).as_posix()
            if path.is_symlink():
                yield Entry(own, link=path.readlink().relative_to(folder).as_posix())
            elif path.is_file():
                yield Entry(own, path.read_bytes())
            elif not any(path.iterdir()):
                yield Entry(own)


def least(tree: Dropped, fault: str, faults: Faults) -> Dropped:
    """Fewer files, plain meshes, shorter records and odd files; it still has a fault like this one."""

    def fails(less: Dropped) -> bool:
        return alike(fault, faults(less))

    for plain in (replace(tree, packed=False), replace(tree, fresh=False, packed=False)):
        tree = plain if plain != tree and fails(plain) else tree
    for _ in range(2):  # a file that a record names goes once the record does not name it
        tree = _few(tree, fails)
        for n in range(len(tree.entries)):
            tree = _shorter(tree, n, fails)
    return tree


def _few(tree: Dropped, fails: Callable[[Dropped], bool]) -> Dropped:
    return replace(tree, entries=fewest(tree.entries, lambda few: fails(replace(tree, entries=few))))


def _shorter(tree: Dropped, n: int, fails: Callable[[Dropped], bool]) -> Dropped:
    """The same with less in one of its files: a plain mesh, fewer lines, fewer bytes."""
    entry = tree.entries[n]

    def put(data: bytes) -> Dropped:
        return replace(tree, entries=(*tree.entries[:n], replace(entry, data=data), *tree.entries[n + 1 :]))

    if entry.data is None or entry.data == PLAIN:
        return tree
    if entry.path.endswith(".toml"):
        lines = entry.data.splitlines(keepends=True)
        return put(b"".join(fewest(lines, lambda few: fails(put(b"".join(few))))))
    if entry.path.endswith(".stl") and fails(put(PLAIN)):
        return put(PLAIN)
    if entry.data in _small():
        return tree
    return put(smallest(entry.data, lambda few: fails(put(few)), TRIES))
