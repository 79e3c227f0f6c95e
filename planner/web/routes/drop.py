"""Files that a browser sends, received into a staging folder and checked before they count."""

from __future__ import annotations

import secrets
import shutil
import threading
import time
import zipfile
import zlib
from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass, field
from pathlib import Path, PurePosixPath

from starlette.concurrency import run_in_threadpool

from planner.api.formats import KNOWN_ASIDE, endings, formats_told
from planner.api.ledger_files import LEDGER_FILE, check_ledger
from planner.errors import InputError
from planner.web.ledger import place_for
from planner.web.names import safe_path
from planner.web.words import say
from planner.web.workspace import FULL, STAGING, NotHere, Workspace

RECORDS = ("airframe.toml", "workshop.toml", LEDGER_FILE)
MEBI = 1 << 20
ABANDONED_S = 3600.0


@dataclass(frozen=True, slots=True)
class DropLimits:
    """How much one drop may bring."""

    file_bytes: int = 500 * MEBI
    record_bytes: int = 5 * MEBI
    all_bytes: int = 4096 * MEBI
    files: int = 2000
    archive_ratio: float = 250.0
    archive_floor_bytes: int = 20 * MEBI


@dataclass(slots=True)
class Drop:
    """One drop that is being received; ``moves``: of machine files, whose names may end as they like.

    ``one``: archives are unpacked one after another, and none while the drop is being taken over.
    """

    folder: Path
    touched: float
    moves: bool = False
    taken: dict[str, int] = field(default_factory=dict)
    passed_over: list[str] = field(default_factory=list)
    received: int = 0
    gone: bool = False
    one: threading.Lock = field(default_factory=threading.Lock)


class Drops:
    """All drops of the moment; what is not finished is forgotten with the page."""

    def __init__(
        self,
        workspace: Workspace,
        limits: DropLimits | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._clock = clock
        self._workspace = workspace
        self._limits = limits or DropLimits()
        self._open: dict[str, Drop] = {}

    def begin(self, *, moves: bool = False) -> str:
        """Open a drop and give its key."""
        key = secrets.token_hex(8)
        folder = self._workspace.root / STAGING / key
        (folder / "files").mkdir(parents=True)
        self._open[key] = Drop(folder, self._clock(), moves)
        return key

    def clear_abandoned(self) -> None:
        """Forget drops of which nothing came for an hour."""
        now = self._clock()
        for key in [key for key, drop in self._open.items() if now - drop.touched >= ABANDONED_S]:
            self.forget(key)

    def get(self, key: str) -> Drop:
        """A drop by its key.

        Raises
        ------
        NotHere
            when there is none
        """
        if key not in self._open:
            raise NotHere(key)
        return self._open[key]

    async def receive(self, key: str, path: str, chunks: AsyncIterator[bytes]) -> str:
        """Write one file; says ``taken`` or ``passed over``.

        Raises
        ------
        InputError
            for a path that leads out, or a size over the limit; nothing of the file is kept then
        """
        drop = self.get(key)
        drop.touched = self._clock()
        name = safe_path(path)
        suffix = name.suffix.lower()
        packed = suffix == ".zip" and not drop.moves
        if not packed and not drop.moves and not _wanted(name):
            drop.passed_over.append(str(name))
            return "passed over"
        if len(drop.taken) >= self._limits.files:
            raise InputError(
                f"the drop holds more than {self._limits.files} files; that is the limit.", where=str(name)
            )
        target = drop.folder / "files" / name
        if not packed:
            _make_room(drop.folder / "files", target)
        passing, size = drop.folder / secrets.token_hex(6), 0
        try:
            with passing.open("wb") as stream:
                async for chunk in chunks:
                    size += len(chunk)
                    drop.touched = self._clock()
                    drop.received += len(chunk)
                    self._check(name, size, drop.received)
                    stream.write(chunk)
            if self._open.get(key) is not drop:
                raise NotHere(key)  # given up, or finished, while this came
            if packed:
                await run_in_threadpool(self._unpacked, drop, passing, name)
            else:
                if not drop.moves:
                    _look_through(passing, name)
                passing.replace(target)
                drop.taken[str(name)] = size
        finally:
            passing.unlink(missing_ok=True)
        return "taken"

    def _check(self, name: PurePosixPath, size: int, total: int) -> None:
        record = name.suffix.lower() == ".toml"
        limit = self._limits.record_bytes if record else self._limits.file_bytes
        if size > limit:
            raise InputError(
                f"the file is larger than {limit // MEBI} MiB; that is the limit.", where=str(name)
            )
        self._check_all(name, total)

    def _check_all(self, name: PurePosixPath, total: int) -> None:
        if total > self._limits.all_bytes:
            raise InputError(
                f"the drop is larger than {self._limits.all_bytes // MEBI} MiB; that is the limit.",
                where=str(name),
            )

    def _unpacked(self, drop: Drop, archive: Path, name: PurePosixPath) -> None:
        """Unpack in a thread: others are answered meanwhile, and the drop may be given up."""
        with drop.one:
            try:
                if not drop.gone:
                    self._unpack(drop, archive, name)
            except (InputError, OSError):
                if not drop.gone:
                    raise
            finally:
                if drop.gone:
                    shutil.rmtree(drop.folder, ignore_errors=True)
        if drop.gone:
            raise NotHere(name)

    def _unpack(self, drop: Drop, archive: Path, name: PurePosixPath) -> None:
        """Unpack a zip archive entry by entry, within the limits of single files; all of it or nothing."""
        apart, files = drop.folder / secrets.token_hex(6), drop.folder / "files"
        made: dict[PurePosixPath, int] = {}
        try:
            with zipfile.ZipFile(archive) as opened:
                entries = [e for e in opened.infolist() if not e.is_dir() and not _hidden(e.filename)]
                if len(entries) + len(drop.taken) > self._limits.files:
                    raise InputError(
                        f"with this archive the drop holds {len(entries) + len(drop.taken)} files;"
                        f" the limit is {self._limits.files}.",
                        where=str(name),
                    )
                self._refuse_swelling(drop, entries, name)
                for entry in entries:
                    self._entry(drop, opened, entry, apart, made, name)
            for path in made:
                _make_room(files, files / path)
            for path, size in made.items():
                (apart / path).replace(files / path)
                drop.taken[str(path)] = size
        except (
            zipfile.BadZipFile,
            zlib.error,
            EOFError,
            NotImplementedError,
            RuntimeError,
            OSError,
        ) as error:
            if isinstance(error, OSError) and error.errno in FULL:
                raise
            raise InputError(
                "the archive is damaged, encrypted, or no zip archive.", where=str(name)
            ) from error
        finally:
            shutil.rmtree(apart, ignore_errors=True)

    def _refuse_swelling(self, drop: Drop, entries: list[zipfile.ZipInfo], name: PurePosixPath) -> None:
        """Before anything is unpacked: what all entries come to, in bytes and by their ratio."""
        unpacked = sum(entry.file_size for entry in entries)
        ratio = unpacked / max(1, sum(entry.compress_size for entry in entries))
        if unpacked > self._limits.archive_floor_bytes and ratio > self._limits.archive_ratio:
            raise InputError(
                f"the archive unpacks to {ratio:.0f} times its size;"
                f" the limit is {self._limits.archive_ratio:.0f}.",
                where=str(name),
            )
        self._check_all(name, drop.received + unpacked)

    def _entry(
        self,
        drop: Drop,
        opened: zipfile.ZipFile,
        entry: zipfile.ZipInfo,
        apart: Path,
        made: dict[PurePosixPath, int],
        archive: PurePosixPath,
    ) -> None:
        path = safe_path(entry.filename)
        if not _wanted(path):
            drop.passed_over.append(str(path))
            return
        ratio = entry.file_size / max(1, entry.compress_size)
        if entry.file_size > self._limits.archive_floor_bytes and ratio > self._limits.archive_ratio:
            raise InputError(
                f"{path} unpacks to {ratio:.0f} times its size;"
                f" the limit is {self._limits.archive_ratio:.0f}.",
                where=str(archive),
            )
        self._check(path, entry.file_size, drop.received)
        target, size = apart / path, 0
        _make_room(apart, target)
        with opened.open(entry) as source, target.open("wb") as stream:
            # Read by pieces and count: an entry may lie about its size.
            while chunk := source.read(MEBI):
                if drop.gone:
                    raise InputError("the drop was given up.", where=str(archive))
                size += len(chunk)
                drop.touched = self._clock()
                drop.received += len(chunk)
                self._check(path, size, drop.received)
                if size > entry.file_size:
                    raise InputError(f"{path} is larger than the archive says.", where=str(archive))
                stream.write(chunk)
        _look_through(target, path)
        made[path] = size

    def finish(self, key: str, name: str) -> str:
        """Make an airframe folder of a drop and give its identifier.

        Raises
        ------
        InputError
            when no mesh came
        """
        drop = self.get(key)
        with drop.one:
            top = lifted(drop.folder / "files")
            self._refuse_empty(drop)
            named = top.name if top != drop.folder / "files" else name
            identifier = self._workspace.adopt(top, named)
            self.forget(key)
        return identifier

    def add_to(self, key: str, folder: Path) -> list[str]:
        """Move the files of a drop into an airframe that is there; equal names are replaced.

        Returns
        -------
        left_out : sentences; a ledger never takes the place of another one
        """
        drop = self.get(key)
        with drop.one:
            self._refuse_empty(drop, records_too=True)
            files = lifted(drop.folder / "files")
            left_out = []
            if (files / LEDGER_FILE).is_file() and place_for(folder).file.is_file():
                (files / LEDGER_FILE).unlink()
                left_out.append(say("ledger_stays"))
            for path in sorted(p for p in files.rglob("*") if p.is_file()):
                target = folder / path.relative_to(files)
                _make_room(folder, target)
                path.replace(target)
            self.forget(key)
        return left_out

    def machine_files(self, key: str) -> list[Path]:
        """The files of a drop of machine files, in the order of their names.

        Raises
        ------
        InputError
            when none came
        """
        drop = self.get(key)
        if not drop.moves or not drop.taken:
            raise InputError("no machine file came with the drop.", next_step="Drop files of moves.")
        return [drop.folder / "files" / name for name in sorted(drop.taken)]

    def _refuse_empty(self, drop: Drop, *, records_too: bool = False) -> None:
        good = (*endings(), *KNOWN_ASIDE, *((".toml", ".sqlite") if records_too else ()))
        if not any(PurePosixPath(name).suffix.lower() in good for name in drop.taken):
            raise InputError("no mesh came with the drop.", next_step=f"Drop {formats_told()} files.")

    def forget(self, key: str) -> None:
        """Drop what is left of a drop."""
        drop = self._open.pop(key, None)
        if drop is not None:
            drop.gone = True
            shutil.rmtree(drop.folder, ignore_errors=True)


def _look_through(path: Path, name: PurePosixPath) -> None:
    """A ledger is looked through before it counts; its refusal names no folder of ours."""
    if name.name != LEDGER_FILE:
        return
    try:
        check_ledger(path)
    except InputError as error:
        raise InputError(error.what, where=LEDGER_FILE, next_step=error.next_step) from error


def _wanted(name: PurePosixPath) -> bool:
    return name.suffix.lower() in (*endings(), *KNOWN_ASIDE) or name.name in RECORDS


def _hidden(name: str) -> bool:
    return any(
        step.startswith(".") or step == "__MACOSX"
        for step in name.replace("\\", "/").split("/")
        if step not in (".", "..")
    )


def _make_room(top: Path, target: Path) -> None:
    """Make the folders of a target; refuse where a link or a file stands in the way."""
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError("a file stands where a folder should be.", where=target.name) from error
    if not (target.parent.resolve().is_relative_to(top.resolve()) or target.parent == top.parent):
        raise InputError("the path leads out of the folder.", where=target.name)
    if target.is_dir() or target.is_symlink():
        raise InputError("a folder or a link stands where the file should be.", where=target.name)


def lifted(folder: Path) -> Path:
    """The folder itself, or the only folder in it: a dropped folder brings its own name."""
    inside = list(folder.iterdir())
    return lifted(inside[0]) if len(inside) == 1 and inside[0].is_dir() else folder
