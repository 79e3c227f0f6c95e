"""Folders in the making that know whether somebody still makes them."""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO

BUSY = ".busy"  # ending of a file beside the folder, locked as long as that is in the making
WAS = "was"  # in a folder that is on its way out: what it was
_ONE_AT_A_TIME = threading.Lock()
_RANDOM = r"[a-z0-9_]{8}"  # as tempfile names them


@contextmanager
def in_the_making(out: Path, kind: str = "") -> Iterator[Path]:
    """A folder beside ``out`` that is gone afterwards, unless it was given another name meanwhile.

    The operating system drops its lock when the process dies, however that ends: `clear_left` knows by that
    what nobody makes any more.
    """
    handle, name = tempfile.mkstemp(prefix=f".{out.name}-{kind}", suffix=BUSY, dir=out.parent, text=True)
    busy = Path(name)
    folder = busy.with_suffix("")
    try:
        with open(handle, "a", encoding="utf-8") as stream:  # noqa: PTH123 - a handle, not a path
            locked(stream)
            try:
                folder.mkdir(0o700)
                yield folder
            finally:
                shutil.rmtree(folder, ignore_errors=True)
    finally:
        busy.unlink(missing_ok=True)


def clear_left(out: Path) -> bool:
    """Take away what processes left beside ``out`` that died while they made it.

    Where one died between the two renames, the folder that was there comes back. Nothing else is touched,
    and what cannot be taken away stays for the next time.

    Returns
    -------
    back : whether a folder came back, which is to be told
    """
    named = re.compile(rf"\.{re.escape(out.name)}-(old-)?{_RANDOM}{re.escape(BUSY)}")
    back = False
    with _ONE_AT_A_TIME, suppress(OSError):
        found = [named.fullmatch(path.name) for path in out.parent.iterdir()]
        for one in sorted(filter(None, found), key=lambda one: one.group()):
            back |= _clear(out.parent / one.group(), out, was=one.group(1) is not None)
    return back


def _clear(busy: Path, out: Path, *, was: bool) -> bool:
    folder, back = busy.with_suffix(""), False
    with suppress(OSError):
        with busy.open("a", encoding="utf-8") as stream:
            if not locked(stream):
                return False
            if was and (folder / WAS).is_dir() and not out.exists():
                (folder / WAS).rename(out)
                back = True
            if folder.is_dir() and not folder.is_symlink():
                shutil.rmtree(folder)
        busy.unlink(missing_ok=True)
    return back


def locked(stream: IO[str]) -> bool:
    """Lock an open file for as long as it is open; ``False`` where another one holds it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(stream, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
