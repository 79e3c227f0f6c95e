"""Ways for a process to die while it writes: before its n-th file operation, at the n-th byte of a file.

Put into a forked child. What counts is every operation that changes a file or a folder, as the interpreter's
audit events tell them (Source: Python documentation, "Audit events table"), every fsync, and every statement
to a store of facts, before it is done.
"""

from __future__ import annotations

import os
import signal
import sqlite3
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

CHANGES = {
    "os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.chmod", "os.utime", "os.truncate", "os.link",
    "os.symlink", "fcntl.flock",
}  # fmt: skip
_WRITES = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC
STEPS = "steps"  # file beside the streams, a line for each operation


@dataclass(frozen=True, slots=True)
class Death:
    """``way``: ``step``, ``byte`` or ``full``; ``at`` counts from 1.

    ``full`` is none: no file may grow beyond so many bytes, and whoever tries hears it, as from a full disk.
    """

    way: str
    at: int

    def meets(self, place: Path) -> None:
        """Let it wait in this process."""
        if self.way == "step":
            watch(
                place, lambda number, _: os.kill(os.getpid(), signal.SIGKILL) if number == self.at else None
            )
            return
        import resource

        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        signal.signal(signal.SIGXFSZ, signal.SIG_DFL if self.way == "byte" else signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (self.at, self.at))


def counted(place: Path, home: Path) -> None:
    """Write a line for each operation below a place."""
    handle = os.open(home / STEPS, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    watch(place, lambda _, what: os.write(handle, f"{what}\n".encode()))


def watch(place: Path, meets: Callable[[int, str], object]) -> None:
    """Call with number and name of every operation below a place, before it is done, from now on."""
    root, seen = place.resolve(), [0]

    def step(what: str) -> None:
        seen[0] += 1
        meets(seen[0], what)

    def hear(event: str, words: tuple[Any, ...]) -> None:
        if event == "ctypes.dlsym" and "rename" in str(words[1]):
            step(str(words[1]))
        elif event == "open" and not (words[2] or 0) & _WRITES:
            return
        elif event == "open" or event in CHANGES:
            name = words[0]
            if not isinstance(name, (str, bytes)) or (event != "open" and words[-1] != -1):
                step(f"{event} by its handle")
            elif (path := Path(os.fsdecode(name)).absolute()).is_relative_to(root):
                step(f"{event} {path.relative_to(root)}")

    flush = os.fsync

    def fsync(handle: int) -> None:
        step("fsync")
        flush(handle)

    connect = sqlite3.connect

    def connected(*given: Any, **named: Any) -> sqlite3.Connection:
        made = connect(*given, **named)
        made.set_trace_callback(lambda said: step(f"sql {said[:40]!r}"))
        return made

    os.fsync, sqlite3.connect = fsync, connected
    sys.addaudithook(hear)
