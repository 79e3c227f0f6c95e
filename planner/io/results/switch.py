"""Names of two folders exchanged in one step, and what is written made to stay, where that can be done."""

from __future__ import annotations

import ctypes
import os
import sys
from contextlib import suppress
from pathlib import Path

_SYSTEM: str = sys.platform
_HERE = -100  # AT_FDCWD
_EXCHANGE = 2  # RENAME_EXCHANGE of Linux (renameat2, 3.15) and RENAME_SWAP of macOS (renamex_np, 10.12)


def exchanged(one: Path, other: Path) -> bool:
    """Exchange two folders at once, so that nobody ever sees neither; ``False`` where that cannot be done."""
    try:
        system = ctypes.CDLL(None, use_errno=True)
        names = os.fsencode(one), os.fsencode(other)
        if _SYSTEM == "linux":
            return bool(system.renameat2(_HERE, names[0], _HERE, names[1], _EXCHANGE) == 0)
        if _SYSTEM == "darwin":
            return bool(system.renamex_np(*names, _EXCHANGE) == 0)
    except (OSError, AttributeError, TypeError):
        pass
    return False


def kept(path: Path) -> None:
    """Ask the system to write a file or a folder through to the disk; where it cannot, it stays as it is."""
    with suppress(OSError):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def kept_whole(folder: Path) -> None:
    """All folders within, and the folder itself; files are kept as they are written."""
    for below, _, _ in os.walk(folder, topdown=False):
        kept(Path(below))
