"""The whole main job on the demo: seconds, memory, start-up, repeatability."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from typing import Any

from bench_row import row

_row = partial(row, "plan")
ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "demo_meshes"
START = "2026-12-01T18:00"
MIB = 1024 * 1024


def rows() -> list[dict[str, Any]]:
    """Measure ``planner plan`` on the demo and ``planner --help``, each as a whole process."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        _plan(Path(folder) / "warm", "normal")  # compiles what is not compiled yet
        for effort, bar in (("quick", 4.0), ("normal", 12.0)):
            seconds, mebibytes, _ = _plan(Path(folder) / f"timed-{effort}", effort)
            found.append(_row(f"demo, --effort {effort}: wall time", seconds, "s", bar, seconds))
            if effort == "normal":
                found.append(_row("demo: peak memory", mebibytes, "MiB", 600.0, seconds))
        began = time.perf_counter()
        prints = {_plan(Path(folder) / f"again-{at}", "quick")[2] for at in range(3)}
        found.append(
            _row("demo: different results in three runs", len(prints) - 1, "", 0, time.perf_counter() - began)
        )
    best = min(_process([sys.executable, "-m", "planner", "--help"])[0] for _ in range(5))
    found.append(_row("planner --help: wall time", best, "s", 0.4, best))
    bare = min(_process([sys.executable, "-c", "pass"])[0] for _ in range(5))
    found.append(_row("planner --help: ratio to a bare interpreter", best / bare, "x", None, best))
    return found


def _plan(out: Path, effort: str) -> tuple[float, float, str]:
    command = [sys.executable, "-m", "planner", "plan", str(DEMO), "--out", str(out)]
    seconds, mebibytes = _process([*command, "--start", START, "--effort", effort])
    digest = hashlib.sha256()
    for path in sorted(out.rglob("*")):
        if path.is_file():
            digest.update(path.relative_to(out).as_posix().encode() + b"\0" + path.read_bytes())
    return seconds, mebibytes, digest.hexdigest()


def _process(command: list[str]) -> tuple[float, float]:
    """Wall seconds and peak resident MiB (zero where the system does not tell) of one process."""
    began = time.perf_counter()
    child = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    if not hasattr(os, "wait4"):
        code, peak = child.wait(), 0.0
    else:
        _, status, usage = os.wait4(child.pid, 0)
        code = child.returncode = os.waitstatus_to_exitcode(status)
        peak = usage.ru_maxrss * (1.0 if sys.platform == "darwin" else 1024.0) / MIB
    if code not in (0, 1):
        raise SystemExit(f"{' '.join(command)} ended with {code}")
    return time.perf_counter() - began, peak
