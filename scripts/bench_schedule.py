"""Schedule figures on the benchmark instances beside the repository."""

from __future__ import annotations

import json
import os
from pathlib import Path

import numpy as np

from planner.schedule.problem import NOT_HERE, Tables, tables_of_windows


def benchmarks() -> Path:
    """Folder of the benchmark data: AIRFRAME_BENCHMARKS, or beside the repository."""
    given = os.environ.get("AIRFRAME_BENCHMARKS")
    return Path(given) if given else Path(__file__).resolve().parents[2] / "shared" / "benchmarks"


def workshop_tables(path: Path) -> tuple[Tables, dict]:
    """A workshop instance as the tables of the search; one tick is five minutes, tick 0 its start."""
    data = json.loads(path.read_text(encoding="utf-8"))
    zero = data["t0"]
    spans = [(since - zero, until - zero) for since, until in data["windows"] if until > zero]
    horizon = spans[-1][1]
    opens, closes, window_at = tables_of_windows(spans, horizon)
    batches, printers = data["batches"], data["printers"]
    duration = np.full((len(batches), len(printers)), NOT_HERE, dtype=np.int32)
    for row, batch in enumerate(batches):
        for column, ticks in batch["ticks"].items():
            duration[row, int(column)] = ticks
    ints = lambda values: np.array(list(values), dtype=np.int32)  # noqa: E731
    tables = Tables(
        duration=duration,
        material=ints(b["material"] for b in batches),
        attended=ints(b["attended_only"] for b in batches),
        watch=ints(data["watch_after_start"] for _ in batches),
        early=np.zeros(len(batches)),
        partner=ints(-1 for _ in batches),
        release=ints(p["release"] - zero for p in printers),
        loaded=ints(p["initial_material"] for p in printers),
        covered=ints(0 for _ in printers),
        cool=ints(0 for _ in printers),
        clear=data["clear"],
        change=data["change"],
        start=0,
        persons=data["persons"],
        opens=opens,
        closes=closes,
        window_at=window_at,
    )
    return tables, data
