"""Compiled code kept by what it was made of, one file for each function and types of its arguments.

The compiler's own cache goes by path, line and text of the file: a second copy of the program, or a moved
one, compiles all of it anew; a kernel whose callee in another file changed goes on with the old one inside;
and it gets the whole compiler ready before it looks. Here the name of a file says everything that its content
follows from, so a file is right wherever it is found. What is read is the compiler's own record of a finished
function.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import tempfile
import time
from functools import cache
from pathlib import Path
from types import FunctionType
from typing import Any

import llvmlite
import numba
import numpy as np
from numba.core import config, types
from numba.core.caching import NullCache
from numba.core.runtime import rtsys
from numba.core.serialize import dumps

from planner.compiled.contents import digest_of
from planner.compiled.linked import from_the_compiler, into_the_compiler, unpickled
from planner.compiled.place import folders

FORM = 1  # of the files; a new one where they are written otherwise
LIMIT_BYTES = 300_000_000  # about six versions of the program; what was not used for longest goes first
DAY_S = 86_400.0


class KeptCode(NullCache):
    """What the compiler asks before it compiles a function, and tells when it has."""

    def __init__(self, function: FunctionType, options: dict[str, Any]) -> None:
        self._function, self._options = function, sorted(options.items())

    @property
    def cache_path(self) -> str | None:
        """The first folder that is looked in."""
        return next(map(str, folders()), None)

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """The function for these types of arguments, or None where it must be compiled."""
        name = self._name(sig, target_context.codegen())
        for folder in folders():
            with contextlib.suppress(Exception):  # a file of another hand: it is compiled anew, and replaced
                held = read_whole(folder / name)
                rtsys.initialize(target_context)
                return into_the_compiler(target_context, unpickled(held))
        return None

    def save_overload(self, sig: Any, cres: Any) -> None:
        """Keep what was compiled; where nothing can be written it serves this process alone."""
        if cres.lifted or cres.library.has_dynamic_globals:
            return
        body = dumps(from_the_compiler(cres))
        name = self._name(sig, cres.codegen)
        for folder in folders():
            with contextlib.suppress(OSError):
                write_whole(folder / name, body)
                _trim(folder)
                return

    def _name(self, sig: Any, codegen: Any) -> str:
        words = repr(
            (_compiler(), codegen.magic_tuple(), self._options, digest_of(self._function), _typed(sig))
        )
        return f"{self._function.__name__}-{hashlib.sha256(words.encode()).hexdigest()[:40]}.code"


@cache
def _compiler() -> tuple[object, ...]:
    """Whatever else compiled code follows from."""
    made_by = (FORM, numba.__version__, llvmlite.__version__, np.__version__, sys.version)
    return (*made_by, str(config.OPT), config.BOUNDSCHECK, config.DEBUGINFO_DEFAULT)


def _typed(sig: Any) -> str:
    """Types of arguments in words; of named tuples the names of the fields, too."""
    if isinstance(sig, tuple):
        return f"({', '.join(map(_typed, sig))})"
    if isinstance(sig, types.BaseTuple):
        made = getattr(sig, "instance_class", tuple)
        of = f"{made.__module__}.{made.__qualname__} {getattr(sig, 'fields', '')}"
        return f"{of}{_typed(tuple(sig))}"
    return f"{type(sig).__name__} {sig}"


def read_whole(path: Path) -> bytes:
    """What was written there.

    Raises
    ------
    OSError, ValueError
        where there is none, or not all of it
    """
    held = path.read_bytes()
    if hashlib.sha256(held[32:]).digest() != held[:32]:
        raise ValueError(f"{path.name} is not whole")
    if time.time() - path.stat().st_mtime > DAY_S:
        with contextlib.suppress(OSError):
            os.utime(path)  # still in use
    return held[32:]


def write_whole(path: Path, body: bytes) -> None:
    """All of it or nothing, whoever writes the same beside; it begins with its digest."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, passing = tempfile.mkstemp(prefix=".", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(body).digest() + body)
        Path(passing).replace(path)
    except BaseException:
        Path(passing).unlink(missing_ok=True)
        raise


@cache
def _trim(folder: Path) -> None:
    """Once in a process that compiles: files of programs that are gone go, too."""
    told = sorted(((path.stat(), path) for path in folder.glob("*.code")), key=lambda one: -one[0].st_mtime)
    total = 0
    for stat, path in told:
        total += stat.st_size
        if total > LIMIT_BYTES:
            path.unlink(missing_ok=True)
