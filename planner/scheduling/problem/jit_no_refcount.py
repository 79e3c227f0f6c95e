"""How the kernels of the search are compiled.

Compiled code counts the owners of every array that it passes on, with two locked additions for each
array of each call. The kernels here pass tuples of fifteen arrays down to calls of a few nanoseconds,
and counting took nine tenths of their time. Nothing in such a kernel makes, slices off or hands out an
array, so there is nothing to count: the caller that made the arrays holds them meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from planner.compiled.jit import compiled

F = TypeVar("F", bound=Callable[..., Any])

_UNCOUNTED: dict[str, Any] = {"nogil": True, "_nrt": False}
_COUNTED: dict[str, Any] = {"nogil": True, "_nrt": True}


def jit_no_refcount(function: F) -> F:
    """Compile without counts of owners; a kernel that makes an array does not compile this way."""
    return compiled(**_UNCOUNTED)(function)


def jit_refcount(function: F) -> F:
    """Compile with counts of owners, also where such a kernel calls it."""
    return compiled(**_COUNTED)(function)
