"""What ``planner prepare`` plans is a sound plan, and after it nothing is left to be compiled."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, plan_folder
from planner.api.preparing import crowd
from planner.api.sample import write_sample
from planner.nesting.separation import separate
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


def test_the_crowd_makes_the_search_weigh_what_overlaps(monkeypatch: pytest.MonkeyPatch) -> None:
    """There is no room for it, so that whatever the search compiles late is compiled with it."""
    weighed = []
    monkeypatch.setattr(separate, "weigh", lambda *_: weighed.append(1))
    assert not crowd()
    assert weighed


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
        return {path.relative_to(store).as_posix() for path in store.rglob("*.nbc")}

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
