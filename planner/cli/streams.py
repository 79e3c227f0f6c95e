"""Standard streams that outlast what they are joined to: closed, full, or read by nobody any more.

What a command did counts, and so does its exit code, whether or not somebody can still hear of it; the
libraries that print help and progress know nothing of that, so it holds where bytes leave the program.
"""

from __future__ import annotations

import io
import os
import sys
from typing import Any


class Deaf(io.StringIO):
    """A stream that keeps nothing."""

    def write(self, text: str) -> int:
        """Letters taken: all of them."""
        return len(text)


class Enduring(io.FileIO):
    """A way out of the program that takes everything; after the first failure it passes nothing on."""

    deaf = False

    def write(self, data: Any, /) -> int:
        """Bytes taken: all of them once a write has failed."""
        if not self.deaf:
            try:
                return super().write(data)
            except OSError:
                self.deaf = True
        return len(data)


def open_streams() -> None:
    """Give a process that was started without standard streams some, and make both ways out endure.

    Without a stream files would get its number.
    """
    while (handle := os.open(os.devnull, os.O_RDWR)) <= 2:
        pass
    os.close(handle)
    for name in ("stdin", "stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, Deaf())
    for name in ("stdout", "stderr"):
        setattr(sys, name, enduring(getattr(sys, name)))


def enduring(stream: Any) -> Any:
    """The same stream on a way out that endures; as it is where it is none of plain files and pipes."""
    buffer = getattr(stream, "buffer", None)
    if type(stream) is not io.TextIOWrapper or type(getattr(buffer, "raw", buffer)) is not io.FileIO:
        return stream  # a console of another system, or what a test reads from
    way = io.BufferedWriter(Enduring(stream.fileno(), "w", closefd=False))
    return io.TextIOWrapper(
        way,
        encoding=stream.encoding,
        errors=stream.errors,
        line_buffering=stream.line_buffering,
        write_through=stream.write_through,
    )
