"""The results folder: written beside its place, then renamed, and never over foreign files."""

from __future__ import annotations

import json
import os
import stat
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path, PurePosixPath

from planner.errors import OutputError
from planner.io.results.left import WAS, clear_left, in_the_making
from planner.io.results.switch import exchanged, kept, kept_whole

WRITTEN = "written.json"  # names every file of the folder, so that we know what is ours to replace


def check_output(out: Path) -> None:
    """Refuse a place that holds files which no earlier plan wrote, or where no results can come to be.

    Asked before the work begins; nothing is left there.

    Raises
    ------
    OutputError
        naming the first foreign file, or why nothing can be written
    """
    with _writable(out):
        place = _led_to(out)
        _refuse_fixed(out, place)
        _refuse_foreign(place)
        above = next(folder for folder in place.parents if folder.is_dir())
        with in_the_making(above / place.name, "old-"):
            pass  # that folders can be made beside it, and renamed, with names of such a length


def _led_to(out: Path) -> Path:
    """Where a link leads: the folder behind it is replaced, the link stays."""
    try:
        return out.resolve()
    except RuntimeError as error:
        raise OutputError(
            "this is a link that leads in a circle.", where=str(out), next_step="Choose another --out."
        ) from error


def _refuse_fixed(out: Path, place: Path) -> None:
    """Folders that cannot be given another name, as an earlier plan's is when the new one is whole."""
    why = ""
    if place == place.parent or os.path.ismount(place):
        why = "the top of a disk cannot be replaced as a whole"
    elif place == _here():
        why = "it is the folder that you are in, which cannot be replaced as a whole"
    elif place.is_dir() and not _may_be_renamed(place):
        why = "you may not rename this folder, so that it cannot be replaced as a whole"
    if why:
        raise OutputError(
            f"{why}.", where=str(out), next_step="Choose another --out, such as a new folder within it."
        )


def _here() -> Path | None:
    """The working folder; none where it was deleted meanwhile."""
    try:
        return Path.cwd().resolve()
    except FileNotFoundError:
        return None


def _may_be_renamed(place: Path) -> bool:
    if not os.access(place, os.W_OK):
        return False
    above = place.parent.stat()
    if not above.st_mode & stat.S_ISVTX or not hasattr(os, "geteuid"):
        return True
    return os.geteuid() in (0, above.st_uid, place.stat().st_uid)


def _refuse_foreign(out: Path) -> None:
    if not out.exists():
        return
    if not out.is_dir():
        raise OutputError("this is a file, not a folder.", where=str(out), next_step="Choose another --out.")
    foreign = sorted(_present(out) - _ours(out))
    if foreign:
        more = f" and {len(foreign) - 1} more" if len(foreign) > 1 else ""
        raise OutputError(
            f"the folder holds {foreign[0]!r}{more}, which no earlier plan wrote.",
            where=str(out),
            next_step="Choose another --out, or move those files away.",
        )


def _present(out: Path) -> set[str]:
    return {path.relative_to(out).as_posix() for path in out.rglob("*") if not path.is_dir()}


def _ours(out: Path) -> set[str]:
    try:
        names = json.loads((out / WRITTEN).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return set()
    return {WRITTEN, *(name for name in names if isinstance(name, str))} if isinstance(names, list) else set()


class Results:
    """A results folder in the making, beside its place."""

    def __init__(self, folder: Path, out: Path) -> None:
        self._folder = folder
        self._out = out
        self._names: list[str] = []

    def write(self, name: str, body: bytes | Iterable[bytes]) -> None:
        """Write one document; ``name`` is its path inside the folder, with forward slashes.

        Raises
        ------
        OutputError
            when the name would leave the folder, or the file cannot be written
        """
        parts = PurePosixPath(name).parts
        if PurePosixPath(name).is_absolute() or ".." in parts:
            raise OutputError(f"{name!r} would leave the results folder.", where=str(self._out))
        target = self._folder.joinpath(*parts)
        with _writable(self._out):
            target.parent.mkdir(parents=True, exist_ok=True)
            with target.open("wb") as stream:
                stream.writelines((body,) if isinstance(body, bytes) else body)
                stream.flush()
                os.fsync(stream.fileno())
        self._names.append(name)

    def seal(self) -> None:
        """Name every file, so that a later plan knows what is ours, and give the folder its rights."""
        (self._folder / WRITTEN).write_text(json.dumps(sorted(self._names), indent=1), encoding="utf-8")
        kept(self._folder / WRITTEN)
        mask = os.umask(0)
        os.umask(mask)
        self._folder.chmod(0o777 & ~mask)  # a temporary folder is private; the results need not be
        kept_whole(self._folder)


@contextmanager
def results(out: Path) -> Iterator[Results]:
    """A results folder to be filled; an earlier plan's folder is replaced as a whole when all is written.

    Raises
    ------
    OutputError
        when the place is not ours or cannot be written; nothing is left behind then
    """
    with _writable(out):
        out = _led_to(out)
    clear_left(out)
    check_output(out)
    with ExitStack() as stack:
        with _writable(out):
            out.parent.mkdir(parents=True, exist_ok=True)
            fresh = stack.enter_context(in_the_making(out))
        made = Results(fresh, out)
        yield made
        with _writable(out):
            made.seal()
            _swap(fresh, out)


def write_output(out: Path, documents: Mapping[str, bytes]) -> None:
    """Write all documents or none; an earlier plan's folder is replaced as a whole.

    Parameters
    ----------
    documents : bytes by path inside the folder, with forward slashes

    Raises
    ------
    OutputError
        when the place is not ours or cannot be written; nothing is left behind then
    """
    with results(out) as made:
        for name in sorted(documents):
            made.write(name, documents[name])


def _swap(fresh: Path, out: Path) -> None:
    """The new folder takes the name; the old one goes with the folder in the making.

    Where names cannot be exchanged there are two renames: who dies between them leaves the old folder beside,
    and the next start brings it back (`clear_left`).
    """
    if not out.exists():
        fresh.rename(out)
    elif not exchanged(fresh, out):
        _renamed_twice(fresh, out)
    kept(out.parent)


def _renamed_twice(fresh: Path, out: Path) -> None:
    with in_the_making(out, "old-") as old:
        out.rename(old / WAS)
        try:
            fresh.rename(out)
        except OSError:
            (old / WAS).rename(out)
            raise


@contextmanager
def _writable(out: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise OutputError(
            f"the results cannot be written ({error.strerror or error}).",
            where=str(out),
            next_step="Choose another --out, or free space and permissions there.",
        ) from error


def write_new(path: Path, text: str) -> bool:
    """Write a text file that does not exist yet, whole or not at all.

    ``False`` when there is one, and nothing is touched.
    """
    with _writable(path):
        clear_left(path)
        if path.exists():
            return False
        with in_the_making(path) as folder:
            fresh = folder / path.name
            with fresh.open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(stream.fileno())
            made = _placed(fresh, path)
        kept(path.parent)
        return made


def _placed(fresh: Path, path: Path) -> bool:
    """Give a file its place, unless another one has it by now.

    Where the disk knows no second names, the new file is made there at once.
    """
    try:
        path.hardlink_to(fresh)
    except FileExistsError:
        return False
    except OSError:
        try:
            with path.open("xb") as stream:
                stream.write(fresh.read_bytes())
        except FileExistsError:
            return False
    return True
