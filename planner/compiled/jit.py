"""How a function is compiled: on its first call, for the types of that call, once on a computer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from numba import njit
from numba.core.dispatcher import Dispatcher

from planner.compiled.kept import KeptCode

F = TypeVar("F", bound=Callable[..., Any])


def compiled(**options: Any) -> Callable[[F], F]:
    """Compile without the interpreter, and keep what comes of it by its content.

    Parameters
    ----------
    options : ``nogil``, ``error_model``, ``inline`` of the compiler
    """

    def decorated(function: F) -> F:
        made = njit(**options)(function)
        if isinstance(made, Dispatcher):  # not where compiling is switched off
            made._cache = KeptCode(made.py_func, options)
        return made

    return decorated
