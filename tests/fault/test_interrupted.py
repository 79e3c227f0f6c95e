"""A plan that is stopped in the middle leaves nothing half-written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from planner.cli import exits
from tests.small_job import write_small_job

ROOT = Path(__file__).resolve().parents[2]


def slow(value: float) -> Any:
    """A moment for the slow run."""
    return pytest.param(value, marks=pytest.mark.slow)


@pytest.mark.skipif(os.name == "nt", reason="this signal goes to a process by its number on POSIX only")
@pytest.mark.parametrize("after_s", [slow(0.3), slow(1.0), slow(2.0)])
def test_an_interrupt_leaves_the_earlier_plan_whole(tmp_path: Path, after_s: float) -> None:
    """Ctrl-C twice at any time: code 130, one sentence, the earlier results to the byte, no other file."""
    kit = write_small_job(tmp_path / "kit")
    out = tmp_path / "out"
    command = [sys.executable, "-m", "planner", "plan", str(kit), "--out", str(out)]
    subprocess.run([*command, "--effort", "quick"], cwd=ROOT, check=True, capture_output=True)
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    demo = [*command[:4], str(ROOT / "demo_meshes"), "--effort", "thorough", "--no-cache", *command[5:]]
    for more in (1.0, 2.0, 4.0, 8.0):
        child = subprocess.Popen(demo, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        time.sleep(after_s * more)
        child.send_signal(signal.SIGINT)
        time.sleep(0.1)
        child.send_signal(signal.SIGINT)  # once would keep a plan that is found already
        _, said = child.communicate(timeout=60)
        if child.returncode != -signal.SIGINT:
            break  # on a busy machine the interpreter itself was not up yet: nobody could hear it
    assert child.returncode == exits.INTERRUPTED, said
    if "Exception ignored" not in said:  # the interpreter's own words about an interrupt that it dropped
        assert "Traceback" not in said
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before
    assert sorted(path.name for path in tmp_path.iterdir()) == ["kit", "out"]


@pytest.mark.slow
def test_a_place_inside_a_file_cannot_be_written(tmp_path: Path) -> None:
    """A path through a file gives one message and exit 2; the file stays."""
    kit = write_small_job(tmp_path / "kit")
    (tmp_path / "file").write_text("x", encoding="utf-8")
    command = [sys.executable, "-m", "planner", "plan", str(kit), "--effort", "quick"]
    done = subprocess.run(
        [*command, "--out", str(tmp_path / "file" / "out")],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == exits.BAD_INPUT
    assert "cannot be written" in done.stderr
    assert (tmp_path / "file").read_text(encoding="utf-8") == "x"
