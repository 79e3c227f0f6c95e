"""What mesh files held when they were last read, for a process that reads the same folder again and again."""

from __future__ import annotations

import time
from collections.abc import Callable, Hashable
from pathlib import Path
from typing import TypeVar

Found = TypeVar("Found")
Sign = tuple[int, int, int, int]
_SETTLED_NS = 2_000_000_000  # a file may change twice within one tick of its disk: 2 s at most (FAT)


class KeptFiles:
    """Answers from files that have not changed, and from answers that are still kept; others are found anew.

    A file has changed where its size, its number, or the time of its content or of its entry did: one that
    took the place of another has another number or time, even where it was given the old time of writing
    (Source: POSIX.1-2017, sys/stat.h). What was written within the last two seconds is not kept yet.
    What no reading asked for since the one before is forgotten.
    """

    def __init__(self) -> None:
        self._files: dict[Path, tuple[Sign | None, object]] = {}
        self._answers: dict[Hashable, object] = {}
        self._files_now: dict[Path, tuple[Sign | None, object]] = {}
        self._answers_now: dict[Hashable, object] = {}

    def begin(self) -> None:
        """A reading begins: what the last one did not ask for goes."""
        self._files, self._files_now = self._files_now, {}
        self._answers, self._answers_now = self._answers_now, {}

    def of_file(self, path: Path, find: Callable[[], Found]) -> Found:
        """What is found in a file."""
        sign = _sign(path)
        held = self._files.get(path)
        if held is None or sign is None or held[0] != sign:
            held = (sign, find())
        self._files_now[path] = held
        return held[1]  # type: ignore[return-value]

    def of(self, key: Hashable, find: Callable[[], Found]) -> Found:
        """What follows from a key; it may hold ``id`` of answers, which live while they are asked for."""
        found = self._answers[key] if key in self._answers else find()
        self._answers_now[key] = found
        return found  # type: ignore[return-value]


class NothingKept(KeptFiles):
    """For a process that reads a folder once: nothing waits in memory."""

    def of_file(self, path: Path, find: Callable[[], Found]) -> Found:
        """What is found in a file."""
        return find()

    def of(self, key: Hashable, find: Callable[[], Found]) -> Found:
        """What follows from a key."""
        return find()


def _sign(path: Path) -> Sign | None:
    """What the system says of a file; ``None`` where it may still change without a sign."""
    try:
        told = path.stat()
    except OSError:
        return None
    if time.time_ns() - max(told.st_mtime_ns, told.st_ctime_ns) < _SETTLED_NS:
        return None
    return told.st_size, told.st_mtime_ns, told.st_ctime_ns, told.st_ino
