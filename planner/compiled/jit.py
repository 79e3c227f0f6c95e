"""How a function is compiled: on its first call, for the types of that call, once on a computer."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from numba import njit
from numba.core import types
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
            _called_alike(made)
        return made

    return decorated


def _called_alike(made: Dispatcher) -> None:
    """Compile once for all whole numbers that other compiled functions call it with.

    The compiler would do it anew for every constant and for each width, and for each mix of them. All are
    reckoned with in 64 bits anyway, so what comes out is the same; a narrower one is widened at the call.
    """
    asked = made.get_call_template

    def get_call_template(args: Sequence[Any], kws: Mapping[str, Any]) -> Any:
        return asked(tuple(map(_widened, args)), {name: _widened(kind) for name, kind in kws.items()})

    made.get_call_template = get_call_template


def _widened(kind: Any) -> Any:
    """The type that stands for it at a call; floats, truths and unsigned numbers for themselves."""
    kind = kind.literal_type if isinstance(kind, types.IntegerLiteral) else kind
    return types.int64 if isinstance(kind, types.Integer) and kind.signed else kind
