"""The whole main job on the demo: seconds, memory, start-up, repeatability."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from bench_row import row

_row = partial(row, "plan")
ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "demo_meshes"
START = "2026-12-01T18:00"
MIB = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Measured:
    """Seconds on the wall and of the processor, and peak resident MiB of one process."""

    seconds: float
    processor_s: float
    peak_mib: float


def rows() -> list[dict[str, Any]]:
    """Measure ``planner plan`` on the demo and ``planner --help``, each as a whole process."""
    found = []
    with tempfile.TemporaryDirectory() as folder:
        _plan(Path(folder) / "warm", "normal")  # compiles what is not compiled yet
        for effort, bar in (("quick", 4.0), ("normal", 12.0)):
            done, _ = _plan(Path(folder) / f"timed-{effort}", effort)
            seconds = done.seconds
            found.append(_row(f"demo, --effort {effort}: wall time", seconds, "s", bar, seconds))
            found.append(
                _row(f"demo, --effort {effort}: processor time", done.processor_s, "s", None, seconds)
            )
            if effort == "normal":
                found.append(_row("demo: peak memory", done.peak_mib, "MiB", 600.0, seconds))
        began = time.perf_counter()
        prints = {_plan(Path(folder) / f"again-{at}", "quick")[1] for at in range(3)}
        found.append(
            _row("demo: different results in three runs", len(prints) - 1, "", 0, time.perf_counter() - began)
        )
    return [*found, *_start_up()]


def _start_up() -> list[dict[str, Any]]:
    """What it takes until the program says anything, in a terminal and in a notebook."""
    best = _best([sys.executable, "-m", "planner", "--help"])
    bare = _best([sys.executable, "-c", "pass"])
    door = _best([sys.executable, "-c", "import planner"])
    numpy = _best([sys.executable, "-c", "import numpy"])
    loaded = subprocess.run(
        [sys.executable, "-c", "import planner, sys; print('numpy' in sys.modules)"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    ).stdout.strip()  # fmt: skip
    note = f"numpy alone takes {numpy.seconds - bare.seconds:.3f} s; loaded by it: {loaded}"
    return [
        _row("planner --help: wall time", best.seconds, "s", 0.4, best.seconds),
        _row("planner --help: processor time", best.processor_s, "s", 0.4, best.seconds),
        _row(
            "planner --help: ratio to a bare interpreter",
            best.seconds / bare.seconds, "x", None, best.seconds,
        ),
        _row("import planner: wall time", door.seconds - bare.seconds, "s", 0.1, door.seconds, note),
    ]  # fmt: skip


def _best(command: list[str]) -> Measured:
    """The quickest of five."""
    return min((_process(command) for _ in range(5)), key=lambda one: one.seconds)


def _plan(out: Path, effort: str) -> tuple[Measured, str]:
    command = [sys.executable, "-m", "planner", "plan", str(DEMO), "--out", str(out)]
    done = _process([*command, "--start", START, "--effort", effort])
    digest = hashlib.sha256()
    for path in sorted(out.rglob("*")):
        if path.is_file():
            digest.update(path.relative_to(out).as_posix().encode() + b"\0" + path.read_bytes())
    return done, digest.hexdigest()


def _process(command: list[str]) -> Measured:
    """What one process took; processor and memory are zero where the system does not tell."""
    began = time.perf_counter()
    child = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.DEVNULL)
    if not hasattr(os, "wait4"):
        code, processor, peak = child.wait(), 0.0, 0.0
    else:
        _, status, usage = os.wait4(child.pid, 0)
        code = child.returncode = os.waitstatus_to_exitcode(status)
        processor = usage.ru_utime + usage.ru_stime
        peak = usage.ru_maxrss * (1.0 if sys.platform == "darwin" else 1024.0) / MIB
    if code not in (0, 1):
        raise SystemExit(f"{' '.join(command)} ended with {code}")
    return Measured(time.perf_counter() - began, processor, peak)
