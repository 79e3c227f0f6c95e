"""The results folder: written beside its place, then renamed, and never over foreign files."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path, PurePosixPath

from planner.errors import OutputError
from planner.io.results.left import WAS, clear_left, in_the_making

WRITTEN = "written.json"  # names every file of the folder, so that we know what is ours to replace


def check_output(out: Path) -> None:
    """Refuse a place that holds files which an earlier plan did not write.

    Raises
    ------
    OutputError
        naming the first foreign file
    """
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
            if isinstance(body, bytes):
                target.write_bytes(body)
            else:
                with target.open("wb") as stream:
                    stream.writelines(body)
        self._names.append(name)

    def seal(self) -> None:
        """Name every file, so that a later plan knows what is ours, and give the folder its rights."""
        (self._folder / WRITTEN).write_text(json.dumps(sorted(self._names), indent=1), encoding="utf-8")
        mask = os.umask(0)
        os.umask(mask)
        self._folder.chmod(0o777 & ~mask)  # a temporary folder is private; the results need not be


@contextmanager
def results(out: Path) -> Iterator[Results]:
    """A results folder to be filled; an earlier plan's folder is replaced as a whole when all is written.

    Raises
    ------
    OutputError
        when the place is not ours or cannot be written; nothing is left behind then
    """
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
    if not out.exists():
        fresh.rename(out)
        return
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
    """Write a text file that does not exist yet; ``False`` when it does, and nothing is touched."""
    with _writable(path):
        try:
            with path.open("x", encoding="utf-8", newline="\n") as stream:
                stream.write(text)
        except FileExistsError:
            return False
        return True
