"""What a compiled function is made of: whatever the compiler sees counts, nothing else does."""

from __future__ import annotations

import importlib
from types import FunctionType, ModuleType
from typing import Any

import numpy as np
import pytest

from planner.compiled.contents import digest_of

INNER = "def inner(x):\n    return x + 1.0\n"
OUTER = (
    "LIMIT = 3.0\nTABLE = np.array([1.0, 2.0])\n"
    "def outer(x, y=2):\n    '''Says something.'''\n    return inner(x) * LIMIT + TABLE[0] + np.sqrt(y)\n"
)


def digest(inner: str = INNER, outer: str = OUTER, file: str = "outer.py") -> str:
    """Of ``outer`` that calls ``inner`` of another module."""
    below, above = ModuleType("planner.below"), ModuleType("planner.above")
    exec(compile(inner, "inner.py", "exec"), below.__dict__)  # noqa: S102
    above.__dict__.update(inner=below.__dict__["inner"], np=np)
    exec(compile(outer, file, "exec"), above.__dict__)  # noqa: S102
    made: Any = above.__dict__["outer"]
    assert isinstance(made, FunctionType)
    return digest_of(made)


def test_place_and_remarks_do_not_count() -> None:
    """Another folder, lines above, a comment: the same code."""
    assert digest() == digest(file="/elsewhere/outer.py")
    assert digest() == digest(outer="\n\n# a remark\n" + OUTER)
    assert digest() == digest(inner=INNER.replace("\n    ", "  # more\n\n    "))


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("LIMIT = 3.0", "LIMIT = 3.5"),
        ("LIMIT = 3.0", "LIMIT = 3"),
        ("[1.0, 2.0]", "[1.0, 2.5]"),
        ("[1.0, 2.0]", "[1, 2]"),
        ("y=2", "y=3"),
        ("np.sqrt", "np.cbrt"),
        ("* LIMIT", "+ LIMIT"),
    ],
)
def test_what_the_function_takes_in_counts(before: str, after: str) -> None:
    """Its steps, a constant's value and kind, an array, a default."""
    assert digest(outer=OUTER.replace(before, after)) != digest()


def test_a_called_function_of_another_file_counts() -> None:
    """Its machine code stands inside that of the caller."""
    assert digest(inner=INNER.replace("1.0", "2.0")) != digest()
    deep = "FAR = {}\ndef deepest(x):\n    return x * FAR\ndef inner(x):\n    return deepest(x)\n"
    assert digest(inner=deep.format("1.0")) != digest(inner=deep.format("2.0"))


def test_fields_of_what_is_taken_apart_count() -> None:
    """A named tuple is told by place: with its fields in another order it is another one."""
    make = "from collections import namedtuple\nPair = namedtuple('Pair', '{}')\n"
    take = "def outer(x):\n    return Pair(x, 1.0).a\n"
    assert digest(outer=make.format("a b") + take) != digest(outer=make.format("b a") + take)


def test_functions_that_call_each_other_come_to_an_end() -> None:
    """And both count."""
    ring = "def outer(x):\n    return other(x)\ndef other(x):\n    return outer(x - {}) if x > 0 else x\n"
    assert digest(outer=ring.format(1)) != digest(outer=ring.format(2))


def test_an_unknown_kind_of_value_is_refused() -> None:
    """Rather than taken for the same whatever it holds."""
    with pytest.raises(TypeError, match="object"):
        digest(outer="HELD = object()\ndef outer(x):\n    return HELD\n")


def test_kernels_of_the_planner_are_told_apart() -> None:
    """Also the two that differ in how they count the owners of arrays."""
    kernel = importlib.import_module("planner.geometry.planar.rings_kernel")
    digests = {digest_of(kernel.join.py_func), digest_of(kernel.thinned.py_func)}
    assert len(digests) == 2
    assert digest_of(kernel.join.py_func) in digests
