"""The results folder of a large plan: CPU of writing it once the plan is made, and how large the report is.

A job of 120 generated parts in four sections, for three printers, is planned once, quick. Timed is the
writing alone, from the finished plan to the folder on disk, the first time with the libraries that it loads.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
import tracemalloc
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import Any

from bench_plan import ROOT, START
from bench_row import row

_row = partial(row, "report")
PARTS = 120
_AGAIN = 5
_CPU_S, _REPORT_MB, _MEMORY_MB = 2.0, 2.0, 100.0
_MB = 1_000_000.0


def rows() -> list[dict[str, Any]]:
    """Plan once, write six times and once more while memory is watched."""
    sys.path.insert(0, str(ROOT))
    from tests.kits.large import large_job

    with tempfile.TemporaryDirectory() as place:
        job, plan = _planned(large_job(Path(place) / "parts", PARTS))
        out = Path(place) / "out"
        took = [_written(job, plan, out) for _ in range(1 + _AGAIN)]
        report = (out / "report.html").stat().st_size / _MB
        beds = sum(path.stat().st_size for path in (out / "beds").iterdir()) / _MB
        peak = _peak(job, plan, out)
    what = f"{PARTS} parts, {len(plan.batches)} beds"
    again = statistics.median(took[1:])
    return [
        _row(f"{what}: first writing, CPU", took[0], "s", _CPU_S, took[0], "before: 2.6 s"),
        _row(f"{what}: again, median of {_AGAIN}, CPU", again, "s", _CPU_S, again),
        _row("report.html", report, "MB", _REPORT_MB, again),
        _row("memory for it at most", peak, "MB", _MEMORY_MB, again, f"bed files: {beds:.0f} MB"),
    ]


def _planned(folder: Path) -> tuple[Any, Any]:
    from planner.api.planning import prepared
    from planner.api.request import PlanRequest

    request = PlanRequest((folder,), start=START, effort="quick")
    job, planned = prepared(request, None, datetime.now(UTC), None)
    return job, planned(job, None, None)


def _written(job: Any, plan: Any, out: Path) -> float:
    """CPU seconds of this process, for all files of a results folder."""
    began = time.process_time()
    from planner.api.planning import write_results

    write_results(job, plan, out)
    return time.process_time() - began


def _peak(job: Any, plan: Any, out: Path) -> float:
    """Megabytes that the writing holds beside plan and meshes, at its worst moment."""
    tracemalloc.start()
    try:
        _written(job, plan, out)
        return tracemalloc.get_traced_memory()[1] / _MB
    finally:
        tracemalloc.stop()
