"""Compiled code is kept by content: found from anywhere, never stale, never half."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import pytest
from numba.core import types

from planner.compiled import kept
from planner.compiled.jit import compiled
from planner.compiled.kept import LIMIT_BYTES, KeptCode, _trim, _typed, read_whole, write_whole
from planner.compiled.place import COMPILED

PACKAGE = Path(__file__).resolve().parents[3] / "planner"
ABOVE = (
    "from planner.compiled.jit import compiled\n"
    "from planner.nesting.separation.random_kernel import uniform\n"
    "@compiled(nogil=True)\n"
    "def first(random):\n"
    "    return uniform(random)\n"
)
ASK = (
    "import numpy as np, sys\n"
    "from planner.nesting.separation.above_kernel import first\n"
    "print(first(np.array([7], np.uint64)), 'numba.np.linalg' in sys.modules)\n"
)


class Ahead(NamedTuple):
    """Two fields."""

    a: float
    b: float


class Behind(NamedTuple):
    """The same fields, the other way round."""

    b: float
    a: float


def test_what_is_written_is_read_whole_or_not_at_all(tmp_path: Path) -> None:
    """A file cut short, or of another hand, is none."""

    path = tmp_path / "new" / "f-1.code"
    body = b"machine code"
    write_whole(path, body)
    assert read_whole(path) == body
    assert [one.name for one in path.parent.iterdir()] == ["f-1.code"]
    path.write_bytes(path.read_bytes()[:-1])
    with pytest.raises(ValueError, match="not whole"):
        read_whole(path)
    with pytest.raises(OSError, match="f-2"):
        read_whole(tmp_path / "f-2.code")


def test_what_is_used_stays_and_the_oldest_goes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beyond the limit of all files together; a file that is read is new again."""

    for number in range(4):
        write_whole(tmp_path / f"f-{number}.code", b"x" * 68)
        os.utime(tmp_path / f"f-{number}.code", (1e9 + number, 1e9 + number))
    read_whole(tmp_path / "f-0.code")
    monkeypatch.setattr(kept, "LIMIT_BYTES", 250)
    _trim.cache_clear()
    _trim(tmp_path)
    _trim.cache_clear()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["f-0.code", "f-3.code"]
    assert LIMIT_BYTES > 100_000_000


def test_types_of_arguments_are_told_apart() -> None:
    """By the order of fields, by what may be written, by a value that is compiled in."""
    told = [
        _typed((types.float64,)),
        _typed((types.int64,)),
        _typed((types.NamedTuple((types.float64, types.float64), Ahead),)),
        _typed((types.NamedTuple((types.float64, types.float64), Behind),)),
        _typed((types.Array(types.float64, 1, "C"),)),
        _typed((types.Array(types.float64, 1, "C", readonly=True),)),
        _typed((types.literal(3),)),
        _typed((types.literal(4),)),
    ]
    assert len(set(told)) == len(told)


@pytest.mark.slow
def test_where_nothing_can_be_kept_it_still_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    """In this process alone."""
    monkeypatch.setenv(COMPILED, "/proc/nowhere")

    @compiled()
    def half(x: float) -> float:
        return x * 0.5

    half.__wrapped__.__module__ = "planner.half"  # type: ignore[attr-defined]
    assert half(3.0) == 1.5
    assert KeptCode(half.__wrapped__, {}).cache_path == "/proc/nowhere"  # type: ignore[attr-defined]


def asked(copy: Path, store: Path) -> tuple[float, bool, int]:
    """What a copy of the package says, whether it compiled, and how much there is of it after that."""
    env = {**os.environ, COMPILED: str(store), "PYTHONPATH": str(copy.parent)}
    done = subprocess.run(
        [sys.executable, "-c", ASK], cwd=copy.parent, env=env, capture_output=True, text=True, check=True
    )
    value, ready = done.stdout.split()
    return float(value), ready == "True", len(list(store.glob("*.code")))


@pytest.mark.slow
def test_another_copy_finds_it_and_a_changed_callee_is_compiled_anew(tmp_path: Path) -> None:
    """A second clone, a moved folder, moved lines; then a function of another file changes."""
    store, copies = tmp_path / "store", [tmp_path / "a" / "planner", tmp_path / "b c" / "planner"]
    for copy in copies:
        shutil.copytree(PACKAGE, copy, ignore=shutil.ignore_patterns("__pycache__", "static"))
        (copy / "nesting" / "separation" / "above_kernel.py").write_text(ABOVE, encoding="utf-8")
    value, compiled_it, count = asked(copies[0], store)
    assert compiled_it
    assert count == 2
    assert asked(copies[1], store) == (value, False, 2)
    kernel = copies[1] / "nesting" / "separation" / "random_kernel.py"
    text = kernel.read_text(encoding="utf-8")
    kernel.write_text("# a line more\n" + text, encoding="utf-8")
    assert asked(copies[1], store) == (value, False, 2)
    kernel.write_text(text.replace("/ 9007199254740992.0", "/ 9007199254740992.0 + 5.0"), encoding="utf-8")
    assert asked(copies[1], store) == (value + 5.0, True, 4)
    assert asked(copies[0], store) == (value, False, 4)
