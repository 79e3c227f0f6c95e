"""What got worse since a saved run of the bench: medians of three runs against it, beyond their own noise."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from statistics import median
from typing import Any

RUNS = 3
LEAST_NOISE = 0.05  # of a value, however alike three runs were
FACTOR = 1.5  # from here on a row fails
Rows = list[dict[str, Any]]
Key = tuple[str, str]


def saved_rows(path: Path) -> Rows:
    """Rows that ``bench.py SECTION --json`` printed into a file.

    Raises
    ------
    SystemExit
        when the file cannot be read or holds something else
    """
    try:
        rows = json.loads(path.read_text(encoding="utf-8"))
        found = {(row["section"], row["name"]): row["value"] for row in rows}
    except (OSError, ValueError, TypeError, KeyError) as error:
        raise SystemExit(f"{path}: these are no rows of the bench ({error}). Save some by --json.") from error
    if not found:
        raise SystemExit(f"{path} holds no row. Save some by --json.")
    return list(rows)


def compared(saved: Rows, runs: Sequence[Rows]) -> tuple[list[str], bool]:
    """Lines of at most 80 columns for the rows of both sides, and whether none is worse by ``FACTOR``.

    A row is worse, or better, where its median over the runs differs from what was saved by more than half
    of the width of the runs, and by more than ``LEAST_NOISE``.
    """
    before, now = _values([saved]), _values(runs)
    less = {(row["section"], row["name"]): row["better"] == "less" for run in runs for row in run}
    lines, holds = [f"{'figure':<40}{'saved':>10}{'now':>10}{'times':>8}  verdict"], True
    for key, values in now.items():
        name = f"{key[0]}: {key[1]}"[:39]
        if key not in before:
            lines.append(f"{name:<40}{'-':>10}{median(values):>10.4g}{'-':>8}  new")
            continue
        old, value = before[key][0], median(values)
        worse = _ratio(value, old) if less[key] else _ratio(old, value)
        noise = max(LEAST_NOISE, 0.5 * (max(values) - min(values)) / abs(value) if value else LEAST_NOISE)
        holds = holds and worse <= FACTOR
        lines.append(f"{name:<40}{old:>10.4g}{value:>10.4g}{worse:>8.2f}  {_verdict(worse, noise)}")
    lines += [
        f"{f'{section}: {name}'[:39]:<40}  is gone" for section, name in before if (section, name) not in now
    ]
    return lines, holds


def _verdict(worse: float, noise: float) -> str:
    if worse > FACTOR:
        return "FAILS"
    if worse > 1.0 + noise:
        return "worse"
    return "better" if worse < 1.0 / (1.0 + noise) else "as before"


def _ratio(value: float, to: float) -> float:
    if value == to:
        return 1.0
    return value / to if to > 0.0 else float("inf")


def _values(runs: Sequence[Rows]) -> Mapping[Key, list[float]]:
    found: dict[Key, list[float]] = {}
    for run in runs:
        for row in run:
            if row.get("value") is not None:
                found.setdefault((row["section"], row["name"]), []).append(float(row["value"]))
    return found
