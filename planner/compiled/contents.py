"""What a compiled function is made of: its code, every value it takes from outside, all that it calls.

Two functions with the same words compile to the same code for the same types, in whatever file and folder
they stand; where anything differs that the compiler sees, also in a function of another file, the words
differ.
"""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

import numpy as np

OWN = __name__.partition(".")[0]


def digest_of(function: FunctionType) -> str:
    """SHA-256 of the function and of every function that it reaches."""
    reached: dict[FunctionType, str] = {}
    waiting = [function]
    while waiting:
        one = waiting.pop()
        if one in reached:
            continue
        reached[one], calls = _made_of(one)
        waiting += calls
    rest = sorted(words for one, words in reached.items() if one is not function)
    return hashlib.sha256("\n".join((reached[function], *rest)).encode()).hexdigest()


@cache
def _made_of(function: FunctionType) -> tuple[str, tuple[FunctionType, ...]]:
    """One function in words, and which others it calls."""
    calls: list[FunctionType] = []
    words = [f"{function.__module__}.{function.__qualname__}", _code(function.__code__)]
    words.append(_value(function.__defaults__, calls))
    for cell in function.__closure__ or ():
        words.append(_value(cell.cell_contents, calls))
    for name in sorted(_names(function.__code__)):
        if name in function.__globals__:
            words.append(f"{name}={_value(function.__globals__[name], calls)}")
    return "\n".join(words), tuple(calls)


def _names(code: CodeType) -> set[str]:
    inner = (constant for constant in code.co_consts if isinstance(constant, CodeType))
    return set(code.co_names).union(*map(_names, inner))


def _code(code: CodeType) -> str:
    """Without lines and file: neither moves anything."""
    shape = (code.co_argcount, code.co_kwonlyargcount, code.co_flags, code.co_varnames, code.co_names)
    constants = [
        _code(value) if isinstance(value, CodeType) else _value(value, []) for value in code.co_consts
    ]
    return f"{code.co_code.hex()} {shape} {code.co_freevars} {code.co_cellvars} {constants}"


def _value(value: Any, calls: list[FunctionType]) -> str:
    """A value as the compiler takes it in.

    Raises
    ------
    TypeError
        for a kind of value whose content is not known here
    """
    function = getattr(value, "py_func", value)
    if isinstance(function, FunctionType) and function.__module__.partition(".")[0] == OWN:
        calls.append(function)
        options = sorted(getattr(value, "targetoptions", {}).items())
        return f"calls {function.__module__}.{function.__qualname__} {options}"
    if value is None or value is ... or isinstance(value, bool | int | float | complex | str | bytes):
        return f"{type(value).__qualname__} {value!r}"
    if isinstance(value, tuple | list):
        return f"{type(value).__qualname__}({', '.join(_value(one, calls) for one in value)})"
    if isinstance(value, frozenset):
        return f"set({', '.join(sorted(_value(one, calls) for one in value))})"
    if isinstance(value, np.ndarray | np.generic):
        held = np.ascontiguousarray(value)
        return f"array {held.dtype.str} {np.shape(value)} {hashlib.sha256(held.tobytes()).hexdigest()}"
    return _named(value)


def _named(value: Any) -> str:
    """What has a name: modules, classes, functions of libraries, whose versions are told once for all."""
    if isinstance(value, ModuleType):
        own = value.__name__.partition(".")[0] == OWN and value.__file__
        return f"module {value.__name__} {_text(value.__file__) if own and value.__file__ else ''}"
    if isinstance(value, type):
        return f"class {value.__module__}.{value.__qualname__} {getattr(value, '_fields', '')}"
    name = getattr(value, "__qualname__", None) or getattr(value, "__name__", None)
    if callable(value) and name:
        return f"function {getattr(value, '__module__', '')}.{name}"
    raise TypeError(f"compiled code cannot be kept by the content of {type(value).__qualname__} {value!r}")


@cache
def _text(file: str) -> str:
    return hashlib.sha256(Path(file).read_bytes()).hexdigest()
