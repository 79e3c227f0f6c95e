"""The folder of what is kept between plans, held within a limit."""

from __future__ import annotations

import os
import time
from contextlib import suppress
from pathlib import Path

MARK = "trimmed"  # its date says when the folder was looked at
_LONGEST_WRITE_S = 86_400.0
_SPARE = ".part"
_FILES = (".npz", ".shape")


def trim_now_and_then(folder: Path, limit_bytes: int, every_s: float) -> None:
    """Trim where the last time is so many seconds ago: to look at 60,000 files takes 0.4 s.

    A date to come, of a clock that was set back since, counts as long ago. What is half-written is looked for
    each time, by names alone.
    """
    clear_deserted(folder)
    mark = folder / MARK
    with suppress(OSError):
        if 0.0 <= time.time() - mark.stat().st_mtime < every_s:
            return
    trim(folder, limit_bytes)
    with suppress(OSError):
        mark.touch()


def clear_deserted(folder: Path) -> None:
    """Delete what processes left half-written that are there no more."""
    with suppress(OSError):  # somebody else is at work in the folder; a later plan will clear it
        with os.scandir(folder) as scan:
            spares = [Path(entry.path) for entry in scan if entry.name.endswith(_SPARE)]
        for path in spares:
            if _deserted(path):
                path.unlink(missing_ok=True)


def trim(folder: Path, limit_bytes: int) -> None:
    """Delete what was used longest ago, deposits and answers of shapes, until all is within the limit."""
    try:
        with os.scandir(folder) as scan:
            own = [(entry.stat(), entry.path) for entry in scan if entry.name.endswith(_FILES)]
        total = sum(stat.st_size for stat, _ in own)
        for stat, path in sorted(own, key=lambda row: row[0].st_mtime):
            if total <= limit_bytes:
                return
            Path(path).unlink(missing_ok=True)
            total -= stat.st_size
    except OSError:
        return  # somebody else is at work in the folder; a later plan will trim it


def _deserted(spare: Path) -> bool:
    """Whether nobody writes a file any more: its process is gone, or a day is over."""
    if time.time() - spare.stat().st_mtime > _LONGEST_WRITE_S:
        return True
    number = spare.suffixes[-2].strip(".") if len(spare.suffixes) > 1 else ""
    if not number.isdecimal() or os.name == "nt":  # where a question to a process would end it
        return False
    try:
        os.kill(int(number), 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        pass
    return False
