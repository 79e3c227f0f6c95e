"""The first plan on a fresh machine, and how soon a warm one answers: wall seconds, as a user waits for them.

The repository is cloned into an empty folder and the README's command is run there; packages come from the
package cache of this machine. Seconds are those of the clock: on a busy machine they say little.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from bench_plan import DEMO, ROOT, START
from bench_row import row
from environment import clean_environment

WHOLE_S, COMPILING_S, FIRST_LINE_S = 60.0, 20.0, 0.3
WARM_S = (("quick", 2.5), ("normal", 7.0))
COMPILES, READY = "Compiling", "Environment ready"  # lines that the script of the environment prints
_row = partial(row, "first")


def rows() -> list[dict[str, Any]]:
    """Clone, plan, and plan again with everything warm."""
    with tempfile.TemporaryDirectory() as place:
        clone = Path(place) / "clone"
        began = time.monotonic()
        subprocess.run(["git", "clone", "--quiet", str(ROOT), str(clone)], check=True)
        words = [sys.executable, "scripts/demo.py", "--effort", "quick"]
        lines = timed_lines(words, clone, NUMBA_CACHE_DIR=str(Path(place) / "compiled"))  # nothing is there
        whole = time.monotonic() - began
        compiling = between(lines, COMPILES, READY)
        found = [
            _row(
                "from clone to report", whole, "s", WHOLE_S, whole, "packages from the cache; demo at quick"
            ),
            _row("of which compiling", compiling, "s", COMPILING_S, compiling),
        ]
    return found + _warm()


def _warm() -> list[dict[str, Any]]:
    """Plans of the demo, the second of two each, and the first line of a plan on the terminal."""
    found = []
    with tempfile.TemporaryDirectory() as place:
        for effort, bar in WARM_S:
            words = [sys.executable, "-m", "planner", "plan", str(DEMO), "--out", str(Path(place) / effort)]
            words += ["--start", START, "--effort", effort]
            seconds = []
            for _ in range(2):
                began = time.monotonic()
                lines = timed_lines(words, ROOT)
                seconds.append(time.monotonic() - began)
            found.append(_row(f"demo warm, {effort}", seconds[-1], "s", bar, sum(seconds)))
            if effort == "quick":
                first = lines[0][0] if os.name == "nt" else on_a_terminal_s(words, ROOT)
                found.append(_row("first line of a plan", first, "s", FIRST_LINE_S, seconds[-1]))
    return found


def on_a_terminal_s(words: Sequence[str], folder: Path) -> float:
    """Seconds until a person at a terminal reads something; the command is ended then."""
    own, theirs = os.openpty()
    began = time.monotonic()
    with subprocess.Popen(
        words, cwd=folder, env=clean_environment(), stdout=subprocess.DEVNULL, stderr=theirs
    ) as child:
        os.close(theirs)
        os.read(own, 1)
        seconds = time.monotonic() - began
        child.kill()
    os.close(own)
    return seconds


def timed_lines(words: Sequence[str], folder: Path, **more: str) -> list[tuple[float, str]]:
    """Every line that a command prints, with the seconds after its start; raises when it fails."""
    began = time.monotonic()
    with subprocess.Popen(
        words,
        cwd=folder,
        env={**clean_environment(), "PYTHONUNBUFFERED": "1", **more},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
    ) as child:
        lines = [(time.monotonic() - began, line.rstrip("\n")) for line in child.stdout or ()]
    if child.returncode not in (0, 1):
        raise SystemExit(f"{' '.join(words)} ended with {child.returncode}: {lines[-1][1] if lines else ''}")
    return lines


def between(lines: Iterable[tuple[float, str]], start: str, end: str) -> float:
    """Seconds from the line that begins with ``start`` to the next one that begins with ``end``."""
    begun: float | None = None
    for at, line in lines:
        if begun is None and line.startswith(start):
            begun = at
        elif begun is not None and line.startswith(end):
            return at - begun
    raise SystemExit(f"the command printed no line {start!r} before one {end!r}.")
