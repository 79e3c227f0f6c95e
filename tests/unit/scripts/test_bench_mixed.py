"""Random workshops with absences, nozzles and plates, planned and checked in bulk."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.slow
def test_random_workshops_are_planned_soundly() -> None:
    """Two hundred of another range than the other tests; ten of them go on."""
    command = [sys.executable, "scripts/bench_mixed.py", "--count", "200", "--first", "10000"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    planned, went_on = (int(text.split()[0]) for text in done.stdout.split(", ")[:2])
    assert planned > 150
    assert 5 <= went_on <= 10
