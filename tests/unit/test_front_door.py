"""The front door for Python: light to import, every name has an example that runs."""

from __future__ import annotations

import doctest
import inspect
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import planner
from tests.builders import box, stl_bytes

NAMES = sorted(set(planner.__all__) - {"__version__", "errors"})
FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
LIGHT = """
import sys, time
began = time.process_time()  # of the processor: others may keep the machine busy
import planner
print(time.process_time() - began, sorted(name for name in sys.modules if name in
      ("numpy", "numba", "pandas", "trimesh", "shapely", "typer", "stl") or name.startswith("planner.model")))
"""


@pytest.fixture(name="kit")
def _kit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of two parts, in the folder that examples run in; kept estimates stay there, too."""
    folder = tmp_path / "kit"
    folder.mkdir()
    (folder / "block.stl").write_bytes(stl_bytes(box(30.0, 20.0, 10.0)))
    (folder / "clip x2.stl").write_bytes(stl_bytes(box(12.0, 8.0, 4.0)))
    glider = tmp_path / "glider"
    glider.mkdir()
    (glider / "hull.stl").write_bytes(stl_bytes(box(20.0, 20.0, 40.0)))
    (glider / "airframe.toml").write_text(
        '[[part]]\nmesh = "hull.stl"\nstack = { name = "hull", order = 1 }\n[[stack]]\nname = "hull"\n'
    )
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return folder


def test_importing_it_is_light() -> None:
    """No numpy, and at most 0.1 s."""
    seconds, loaded = min(
        subprocess.run([sys.executable, "-c", LIGHT], capture_output=True, text=True, check=True)
        .stdout.strip()
        .split(" ", 1)
        for _ in range(3)
    )
    assert loaded == "[]"
    assert float(seconds) <= 0.1


def test_every_name_is_there_and_none_is_hidden_by_a_room() -> None:
    """A sub-package of the name of a function would take its place once it is imported."""
    rooms = {path.stem for path in Path(planner.__file__).parent.iterdir()}
    assert not rooms & set(NAMES)
    assert set(planner.__all__) <= set(dir(planner))
    assert all(getattr(planner, name).__doc__ for name in NAMES)
    assert len(NAMES) == len(set(NAMES)) <= 35
    with pytest.raises(AttributeError, match="no attribute 'wing'"):
        getattr(planner, "wing")  # noqa: B009


def _own(name: str) -> list[tuple[str, Any]]:
    """The name and, of a class of ours, the methods that it defines itself."""
    value = getattr(planner, name)
    found = [(name, value)]
    if inspect.isclass(value):
        found += [
            (f"{name}.{key}", getattr(value, key))
            for key, one in vars(value).items()
            if not key.startswith("_") and isinstance(one, Callable | classmethod)  # type: ignore[arg-type]
        ]
    return found


@pytest.mark.parametrize("name", NAMES)
def test_examples_run(name: str, kit: Path) -> None:
    """Every name has an example, and every example says what comes."""
    del kit
    finder, runner = doctest.DocTestFinder(recurse=False), doctest.DocTestRunner(optionflags=FLAGS)
    tried = 0
    for title, value in _own(name):
        for example in finder.find(value, title, module=False, globs={}):  # type: ignore[arg-type]
            found: list[str] = []
            result = runner.run(example, out=found.append)
            assert result.failed == 0, "".join(found)
            tried += result.attempted
    assert tried
