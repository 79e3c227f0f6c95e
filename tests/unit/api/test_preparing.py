"""What ``planner prepare`` plans is a sound plan, and after it nothing is left to be compiled."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, plan_folder, preparing
from planner.api.sample import write_sample
from planner.compiled.place import COMPILED
from tests.small_job import write_small_job

ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.slow
def test_the_sample_is_planned_soundly(tmp_path: Path) -> None:
    """It is checked by the code that shares nothing with the search."""
    write_sample(tmp_path / "sample")
    start = datetime(2026, 1, 5, 18, tzinfo=UTC)
    plan = plan_folder(PlanRequest((tmp_path / "sample",), out=tmp_path / "out", verify=True), start)
    assert plan.misfits == ()
    assert len(plan.pieces) == 21


@pytest.mark.parametrize("cores", [1, 2])
def test_the_search_has_a_process_where_there_is_a_core_for_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, cores: int
) -> None:
    """With one core nobody is started; with two the child is waited for before the kit goes."""
    ended = tmp_path / "ended"
    child = "import sys, time; time.sleep(0.2); open(sys.argv[1], 'w').close()"
    monkeypatch.setattr(preparing, "_CHILD", child)
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    with preparing._beside(ended):
        assert not ended.exists()
    assert ended.exists() is (cores == 2)


def test_what_stops_the_plan_stops_the_search(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """An interrupt ends the child, too, and is passed on."""
    monkeypatch.setattr(preparing, "_CHILD", "import time; time.sleep(60)")
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    began = time.monotonic()
    with pytest.raises(KeyboardInterrupt), preparing._beside(tmp_path):
        raise KeyboardInterrupt
    assert time.monotonic() - began < 30.0


def test_without_a_child_the_plan_compiles_by_itself(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Where no process can be started, and where the one that was started fails, nothing is said of it."""
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(preparing, "_CHILD", "raise SystemExit(3)")
    with preparing._beside(tmp_path):
        pass
    monkeypatch.setattr(sys, "executable", str(tmp_path / "nothing"))
    with preparing._beside(tmp_path):
        pass


@pytest.mark.slow
def test_after_it_nothing_is_left_to_be_compiled(tmp_path: Path) -> None:
    """With an empty store of compiled code: the small kit and the demo, at two efforts, add none to it."""
    store = tmp_path / "compiled"

    def planner(*words: str | Path) -> set[str]:
        done = subprocess.run(
            [sys.executable, "-m", "planner", *map(str, words)],
            cwd=ROOT,
            env={**os.environ, "NUMBA_CACHE_DIR": str(store)},
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return {path.relative_to(store).as_posix() for path in store.rglob("*.code")}

    compiled = planner("prepare")
    assert len(compiled) > 100
    kit = write_small_job(tmp_path / "kit")
    for source, effort in (
        (kit, "normal"),
        (ROOT / "demo_meshes", "quick"),
        (ROOT / "demo_meshes", "normal"),
    ):
        words = ("--start", "2026-12-01T18:00", "--no-cache", "--effort", effort, "--out", tmp_path / effort)
        assert planner("plan", source, *words) == compiled


def test_the_search_is_imported_only_to_be_compiled() -> None:
    """Every command and the page import this module: with numpy and the search they would start slowly."""
    body = ast.parse(Path(preparing.__file__).read_text(encoding="utf-8")).body
    above = {node.module for node in body if isinstance(node, ast.ImportFrom)}
    assert not above & {"planner.api.sample", "planner.api.sample_beds"}


@pytest.fixture
def child(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """Two cores, nothing compiled, and a child that takes a moment and leaves the words it was given."""
    ended = tmp_path / "ended"
    text = f"import sys, time; time.sleep(0.2); open({str(ended)!r}, 'w').write(' '.join(sys.argv[2:]))"
    monkeypatch.setattr(preparing, "_CHILD", text)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setenv(COMPILED, str(tmp_path / "store"))
    return ended


def test_the_first_plan_of_a_computer_waits_for_its_search(child: Path) -> None:
    """Meshes are read meanwhile; the search begins when it is compiled, for the effort that is asked for."""
    told: list[tuple[str, bool]] = []
    with preparing.first_plan("quick", lambda stage, *_: told.append((stage, child.exists()))) as progress:
        assert progress is not None
        progress("read meshes", 0, 1)
        progress("beds and schedule", 0, 1)
    assert told == [("read meshes", False), ("beds and schedule", True)]
    assert child.read_text(encoding="utf-8") == "quick"


def test_a_later_plan_starts_no_child(child: Path, tmp_path: Path) -> None:
    """Nor does the plan of the very small kit, which has one already; its own progress stays as it is."""
    (tmp_path / "store").mkdir()
    (tmp_path / "store" / "anneal_jointly-0.code").touch()
    with preparing.first_plan("quick", None) as progress:
        assert progress is None
    (tmp_path / "store" / "anneal_jointly-0.code").unlink()
    with preparing._beside(tmp_path), preparing.first_plan("quick", None) as progress:
        assert progress is None
    assert not preparing._busy


def test_the_person_who_waits_is_told_and_can_leave(
    child: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The progress is asked while the child is at work; an interrupt ends both."""
    monkeypatch.setattr(preparing, "_CHILD", "import time; time.sleep(60)")

    def progress(stage: str, done: int, total: int) -> None:
        if stage == "compile the search, once":
            raise KeyboardInterrupt

    began = time.monotonic()

    def plan() -> None:
        with preparing.first_plan("quick", progress) as told:
            assert told is not None
            told("beds and schedule", 0, 1)

    with pytest.raises(KeyboardInterrupt):
        plan()
    assert time.monotonic() - began < 30.0
    assert not child.exists()
