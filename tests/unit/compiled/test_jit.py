"""Every kernel is compiled in the one way."""

from __future__ import annotations

import importlib
from pathlib import Path

import numpy as np
import pytest

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


def _own(step: int, column: np.ndarray) -> float:  # type: ignore[type-arg]
    return float(column[step]) + step / 2


def test_whole_numbers_of_every_kind_are_one_to_a_callee(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Constants, narrow and wide ones: compiled once, and reckoned as Python does."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))  # a caller that is kept asks for no callee
    own = compiled(nogil=True)(_own)

    def caller(narrow: np.ndarray, column: np.ndarray, wide: int) -> float:  # type: ignore[type-arg]
        return own(0, column) + own(1, column) + own(narrow[0], column) + own(wide, column)

    narrow, column = np.array([3], dtype=np.int32), np.array([1.0, 20.0, 300.0, 4000.0])
    made = compiled(nogil=True)(caller)
    assert made(narrow, column, 2) == 1.0 + 20.0 + 4000.0 + 300.0 + 3.0
    assert [str(sig[0]) for sig in own.signatures] == ["int64"]  # type: ignore[attr-defined]


def test_other_kinds_stay_what_they_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Unsigned numbers, floats and truths have their own arithmetic."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))

    def same(value: object) -> object:
        return value

    kept = compiled(nogil=True)(same)

    def caller(whole: np.ndarray, single: np.ndarray) -> object:  # type: ignore[type-arg]
        return kept(whole[0]), kept(single[0]), kept(single[0] > 0.0)

    compiled(nogil=True)(caller)(np.array([7], dtype=np.uint64), np.array([0.5], dtype=np.float32))
    assert {str(sig[0]) for sig in kept.signatures} == {"uint64", "float32", "bool"}  # type: ignore[attr-defined]
