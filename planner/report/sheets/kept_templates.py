"""Templates of the report, kept as they were compiled: that takes 20 ms, and is the same each time."""

from __future__ import annotations

import contextlib
import hashlib
import sys

import jinja2
from jinja2.bccache import Bucket

from planner.compiled.kept import read_whole, write_whole
from planner.compiled.place import folders

FORM = 1  # of the options with which they are compiled; a new one where those change


class KeptTemplates(jinja2.BytecodeCache):
    """Where the library looks before it compiles a template, and puts what came of it."""

    def load_bytecode(self, bucket: Bucket) -> None:
        """What was kept of the same text by the same library, where that is whole."""
        for folder in folders():
            with contextlib.suppress(Exception):  # a file of another hand: it is compiled anew, and replaced
                bucket.bytecode_from_string(read_whole(folder / _name(bucket)))
                return

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep it; where nothing can be written it serves this process alone."""
        for folder in folders():
            with contextlib.suppress(OSError):
                write_whole(folder / _name(bucket), bucket.bytecode_to_string())
                return


def _name(bucket: Bucket) -> str:
    """All that it follows from; it ends as compiled code does, with which it is cleared away in time."""
    made_by = (FORM, jinja2.__version__, sys.version, bucket.key, bucket.checksum)
    return f"page-{hashlib.sha256(repr(made_by).encode()).hexdigest()[:40]}.code"
