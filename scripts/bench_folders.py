"""Folders of many parts: CPU and memory of quick plans and of looks, and how fast lettering finds its places.

What stood here before is told in the notes, measured on two processors on the commit before the beds were
written one by one. CPU seconds differ from machine to machine; their ratio to a plan of the demo does less.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from bench_plan import DEMO, MIB, ROOT, START
from bench_row import row

_FOLDERS = (  # parts, share of facets, bars (times the demo, MiB), and CPU s, times the demo, MiB before
    (184, 1.8, 3.2, 477.0, (69.3, 4.0, 1319)),
    (266, 1.0, 4.0, 477.0, (84.7, 4.9, 1147)),
)
_row = partial(row, "folders")
_CHECKED, _FLAT = (1_000, 4_000), 1.3  # parts of a look, and memory for the many over that for the few
_LETTERING = 20.0  # times a search by whole arrays


def rows() -> list[dict[str, Any]]:
    """Plan the demo and both folders, each as a process of its own; letter a crowded bed in two ways."""
    sys.path.insert(0, str(ROOT))
    from tests.kits.folder import folder_of_parts

    found = [_lettering()]
    with tempfile.TemporaryDirectory() as place:
        _plan(DEMO, Path(place) / "warm")  # compiles what is not compiled yet
        demo = min(_plan(DEMO, Path(place) / "demo")[0] for _ in range(2))
        found.append(_row("demo, quick, no cache: CPU", demo, "s", None, demo, "before: 17.2 s"))
        for count, fine, ratio, memory, (cpu, times, mebibytes) in _FOLDERS:
            folder = folder_of_parts(Path(place) / f"parts-{count}", count, fine=fine)
            seconds, peak = _plan(folder, Path(place) / f"out-{count}")
            found += [
                _row(f"{count} parts, quick: CPU", seconds, "s", None, seconds, f"before: {cpu} s"),
                _row(
                    f"{count} parts, quick: CPU, times demo",
                    seconds / demo,
                    "x",
                    ratio,
                    seconds,
                    f"before: {times}",
                ),
                _row(f"{count} parts: peak memory", peak, "MiB", memory, seconds, f"before: {mebibytes} MiB"),
            ]
        found += _looks(Path(place))
    return found


def _looks(place: Path) -> list[dict[str, Any]]:
    """Check and estimate folders of small parts: CPU of a part, and memory, which should stay the same."""
    from tests.kits.folder import folder_of_parts

    found, peaks = [], []
    for count in _CHECKED:
        folder = folder_of_parts(place / f"look-{count}", count, fine=0.05)
        seconds, peak = _ended("check", str(folder), "--no-cache")
        peaks.append(peak)
        each = 1000.0 * seconds / count
        found += [
            _row(f"{count} parts, check: CPU of a part", each, "ms", None, seconds),
            _row(f"{count} parts, check: peak memory", peak, "MiB", None, seconds),
        ]
    few, many = _CHECKED
    name = f"check, memory of {many} parts to {few}"
    return [*found, _row(name, peaks[1] / peaks[0], "x", _FLAT, seconds, "before: 1.4 for 2,000, the limit")]


def _lettering() -> dict[str, Any]:
    """Seconds for the names on a bed of 40 pieces by compiled code, against whole arrays."""
    from planner.report.drawings.label_places import labels
    from tests.slow_labels import slow_labels

    rings = crowd(np.random.default_rng(1))
    numbers = {name: k for k, name in enumerate(rings, 1)}
    sheet = (0.0, 0.0, 130.0, 130.0)
    labels(rings, numbers, sheet)
    slow, quick = (_seconds(way, rings, numbers, sheet) for way in (slow_labels, labels))
    row = _row(
        "lettering of a bed: times faster", slow / quick, "x", _LETTERING, slow, "against whole arrays"
    )
    return {**row, "better": "more", "holds": slow / quick >= _LETTERING}


def crowd(rng: np.random.Generator) -> dict[str, list[tuple[float, float]]]:
    """Outlines of 40 pieces with waves, in rows, by name; lengths in mm."""
    turn = 2.0 * np.pi * np.arange(300) / 300
    found = {}
    for k in range(40):
        reach = rng.uniform(0.8, 8.0) * (1.0 + 0.4 * np.sin(int(rng.integers(2, 6)) * turn))
        x, y = 15.0 + 16.0 * (k % 7) + reach * np.cos(turn), 15.0 + 18.0 * (k // 7) + reach * np.sin(turn)
        found[f"wing rib {k}"] = [(float(a), float(b)) for a, b in zip(x, y, strict=True)]
    return found


def _seconds(way: Any, *words: Any) -> float:
    began = time.process_time()
    way(*words)
    return time.process_time() - began


def _plan(folder: Path, out: Path) -> tuple[float, float]:
    """CPU seconds (user and system) and peak resident MiB of a quick plan without kept estimates."""
    return _ended("plan", str(folder), "--out", str(out), "--start", START, "--effort", "quick", "--no-cache")


def _ended(*words: str) -> tuple[float, float]:
    """CPU seconds (user and system) and peak resident MiB of a command."""
    if not hasattr(os, "wait4"):
        raise SystemExit("this section asks the system for CPU and memory of a process, which needs POSIX")
    child = subprocess.Popen([sys.executable, "-m", "planner", *words], cwd=ROOT, stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    code = child.returncode = os.waitstatus_to_exitcode(status)
    if code not in (0, 1):
        raise SystemExit(f"planner {' '.join(words)} ended with {code}")
    peak = usage.ru_maxrss * (1.0 if sys.platform == "darwin" else 1024.0) / MIB
    return usage.ru_utime + usage.ru_stime, peak
