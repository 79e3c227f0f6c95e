"""The whole command in a process of its own: on folders with one odd file, and killed at any moment."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from tests.campaign.case import Case
from tests.campaign.mutate import FORMATS, _damaged, _shape
from tests.small_job import write_small_job

ROOT = Path(__file__).resolve().parents[2]
CODES = (0, 1, 2, 3)
_LINES = (
    "clear_minutes = 1e400",
    "seed = 3",
    "energy_price = 'NaN EUR'",
    "[[spool]]",
    "x = [",
    "time_zone = 'Mars'",
)


def _words(kit: Path, out: Path) -> list[str]:
    start = ["--start", "2026-12-01T17:10", "--effort", "quick"]
    return [sys.executable, "-m", "planner", "plan", str(kit), "--out", str(out), *start]


def whole(out: Path) -> str:
    """What is wrong with a results folder: nothing, where all files that it names are there."""
    try:
        names = json.loads((out / "written.json").read_text(encoding="utf-8"))
        json.loads((out / "plan.json").read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        return f"the results are not whole: {error}"
    missing = [name for name in names if not (out / name).is_file()]
    return f"{missing[0]} is missing" if missing else ""


def folder_case(number: int, seed: int) -> Case:
    """A small job with one damaged mesh, or one odd line in its workshop."""
    rng = np.random.default_rng([seed, number, 1])
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        kit, out = write_small_job(Path(name) / "kit"), Path(name) / "out"
        if rng.random() < 0.7:
            suffix, written = FORMATS[int(rng.integers(len(FORMATS)))]
            what = f"a damaged {suffix}"
            (kit / f"odd{suffix}").write_bytes(_damaged(rng, written(_shape(rng))))
        else:
            what = str(rng.choice(_LINES))
            file = kit / "workshop.toml"
            file.write_text(f"{what}\n{file.read_text(encoding='utf-8')}", encoding="utf-8")
        done = subprocess.run(
            _words(kit, out), cwd=ROOT, capture_output=True, text=True, check=False, timeout=300
        )
        fault = ""
        if done.returncode not in CODES or "Traceback" in done.stderr:
            fault = f"code {done.returncode}: {done.stderr[-300:]}"
        elif done.returncode < 2:
            fault = whole(out)
        elif out.exists():
            fault = "something was written"
    return Case("folders", number, what, f"code {done.returncode}", fault, time.monotonic() - began)


def kill_case(number: int, seed: int) -> Case:
    """A second plan over a first, killed at any moment: one of both is whole, the next start tidies up."""
    rng = np.random.default_rng([seed, number, 2])
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as name:
        kit, out = write_small_job(Path(name) / "kit"), Path(name) / "out"
        words = _words(kit, out)
        subprocess.run(words, cwd=ROOT, capture_output=True, check=True, timeout=300)
        length = time.monotonic() - began
        after = float(rng.uniform(0.5, 1.05)) * length
        child = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            child.wait(timeout=after)
            reached = "ended"
        except subprocess.TimeoutExpired:
            child.kill()
            child.wait()
            reached = "killed"
        fault = whole(out)
        again = subprocess.run(words, cwd=ROOT, capture_output=True, check=False, timeout=300)
        left = sorted(path.name for path in Path(name).iterdir())
        if again.returncode or left != ["kit", "out"]:
            fault = fault or f"afterwards: code {again.returncode}, {left}"
    return Case("kills", number, f"after {after:.2f} s", reached, fault, time.monotonic() - began)
