"""Every kernel is compiled in the one way."""

from __future__ import annotations

import importlib
from pathlib import Path

import planner
from planner.compiled.jit import compiled
from planner.compiled.kept import KeptCode

PACKAGE = Path(planner.__file__).parent


def test_it_is_the_only_way() -> None:
    """A kernel with the compiler's own cache would go on with old code of other files."""
    held = {path for path in PACKAGE.rglob("*.py") if "njit" in path.read_text(encoding="utf-8")}
    assert {path.relative_to(PACKAGE).as_posix() for path in held} == {"compiled/jit.py"}


def test_what_it_makes_is_kept_by_content() -> None:
    """Also where it is given a function of another module; words of the compiler go on to it."""
    kernel = importlib.import_module("planner.geometry.planar.rings_kernel")
    assert isinstance(kernel.join._cache, KeptCode)

    def half(x: float) -> float:
        return x * 0.5

    made = compiled(nogil=True)(half)
    assert made.targetoptions["nogil"] is True  # type: ignore[attr-defined]
    assert isinstance(made._cache, KeptCode)  # type: ignore[attr-defined]
