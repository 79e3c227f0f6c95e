"""Reading machine files: seconds for a million lines, and memory that does not grow with the file."""

from __future__ import annotations

import math
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from bench_row import row

LINES = 1_000_000
LARGE_BYTES = 500_000_000
BAR_S, BAR_MB = 2.0, 40.0
_CHILD = """
import resource, sys
from pathlib import Path
from planner.readback.reading import MachineOf, read_moves
machine = MachineOf((1000.0, 1000.0, 1000.0), 150.0, 0.05, 0.5, 220.0)
read_moves(Path(sys.argv[1]), machine)
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0)
"""


def rows() -> list[dict[str, Any]]:
    """Processor seconds for a million lines, and peak memory of a small and of a large file."""
    from planner.readback.reading import MachineOf, read_moves

    machine = MachineOf((1000.0, 1000.0, 1000.0), 150.0, 0.05, 0.5, 220.0)
    found = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "moves"
        size = write_moves(path, LINES)
        read_moves(path, machine)  # compiled code is loaded
        best = math.inf
        for _ in range(3):
            begin = time.process_time()
            read_moves(path, machine)
            best = min(best, time.process_time() - begin)
        found.append(_row("a million lines", best, "s", BAR_S, best, f"{size / 1e6:.0f} MB"))
        block = path.read_bytes()
        with path.open("ab") as file:
            file.write(block)
        small = _peak_mb(path)  # of twice as many lines
        with path.open("ab") as file:
            while file.tell() < LARGE_BYTES:
                file.write(block)
        begin = time.monotonic()
        more = _peak_mb(path) - small
        took = time.monotonic() - begin
        found.append(_row("more memory for 500 MB", more, "MB", BAR_MB, took, f"of {small:.0f} MB"))
    return found


def _row(name: str, value: float, unit: str, bar: float, seconds: float, note: str) -> dict[str, Any]:
    return row("readback", name, value, unit, bar, seconds, note)


def _peak_mb(path: Path) -> float:
    done = subprocess.run(
        [sys.executable, "-c", _CHILD, str(path)],
        capture_output=True,
        text=True,
        check=True,
        env=dict(os.environ),
    )
    return float(done.stdout)


def write_moves(path: Path, lines: int) -> int:
    """Walls that wave, layer on layer; absolute places, fed lengths by increments."""
    with path.open("w", encoding="ascii") as file:
        file.write("G21\nG90\nM83\nG0 X150 Y110 Z0.2 F9000\nG1 F2400\n")
        for n in range(lines):
            angle = 0.02 * n
            radius = 40.0 + 10.0 * math.sin(3.0 * angle)
            if n % 5000 == 0:
                lap = n // 5000
                file.write(f"G0 Z{0.2 + 0.2 * (lap % 300):.2f} F600\nG1 F{1200 + lap % 9 * 300}\n")
            x, y = 110.0 + radius * math.cos(angle), 110.0 + radius * math.sin(angle)
            file.write(f"G1 X{x:.3f} Y{y:.3f} E0.0334\n")
    return path.stat().st_size
