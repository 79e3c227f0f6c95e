"""Measure the planner: ``bench.py SECTION [--json] [--compare FILE]`` with the name of a section.

``short`` holds a minute of ratios against those that are saved in the repository; with ``--json`` it makes
such rows anew.

Every figure is made in this run. Where a plain baseline exists the figure is a ratio to it, so
that the speed of the machine drops out.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

SECTIONS = {
    "estimate": "bench_estimate",
    "arrange": "bench_arrange",
    "schedule": "bench_schedule",
    "plan": "bench_plan",
    "truth": "bench_truth",
    "folders": "bench_folders",
    "report": "bench_report",
    "page": "bench_page",
    "kit": "bench_kit",
    "readback": "bench_readback",
    "first": "bench_first",
}
SHORT = "short"  # a minute of ratios for every check, none of `all`
KEYS = ("section", "name", "value", "unit", "better", "bar", "holds", "seconds", "note")


def main() -> int:
    """Run one section, or all of them."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("section", choices=[*SECTIONS, "all", SHORT])
    parser.add_argument("--json", action="store_true", help="print a list of rows instead of a table")
    parser.add_argument("--compare", type=Path, metavar="FILE", help="rows that --json printed before")
    words = parser.parse_args()
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # it compiles each source anew, in each process
    _move_into_environment()
    if words.section == SHORT:
        import bench_short

        if not words.json:
            return bench_short.compare(words.compare or bench_short.SAVED)
        print(json.dumps(bench_short.rows(), indent=1, allow_nan=False))
        return 0
    sections = list(SECTIONS) if words.section == "all" else [words.section]
    if words.compare is not None:
        return compare(words.compare, sections)
    rows = rows_of(sections)
    print(json.dumps(rows, indent=1, allow_nan=False) if words.json else table(rows))
    return 0


def rows_of(sections: list[str]) -> list[dict[str, Any]]:
    """One run of the sections."""
    return [
        {key: row.get(key) for key in KEYS}
        for section in sections
        for row in importlib.import_module(SECTIONS[section]).rows()
    ]


def compare(path: Path, sections: list[str]) -> int:
    """Three runs against a saved one; 1 where a row is worse by half."""
    from bench_compare import RUNS, compared, saved_rows

    saved = [row for row in saved_rows(path) if row["section"] in sections]
    lines, holds = compared(saved, [rows_of(sections) for _ in range(RUNS)])
    print("\n".join(lines))
    return 0 if holds else 1


def table(rows: list[dict[str, Any]]) -> str:
    """The rows for a terminal of 80 columns; notes go on lines of their own."""
    lines = [f"{'figure':<46}{'value':>12} {'bar':>10}  holds"]
    for row in rows:
        sign = "<=" if row["better"] == "less" else ">="
        bar = "-" if row["bar"] is None else f"{sign} {row['bar']:g}"
        holds = {True: "yes", False: "NO", None: "-"}[row["holds"]]
        value = "-" if row["value"] is None else f"{row['value']:.4g} {row['unit']}"
        name = f"{row['section']}: {row['name']}"
        lines.append(f"{name[:45]:<46}{value:>12} {bar:>10}  {holds}")
        if row["note"]:
            lines.append(f"    {row['note']}")
    return "\n".join(lines)


def _move_into_environment() -> None:
    """Go on in the private environment when the planner is not installed in this one."""
    sys.path.insert(0, str(Path(__file__).resolve().parent))
    try:
        import numba  # noqa: F401
        import trimesh  # noqa: F401

        import planner  # noqa: F401
    except ImportError:
        from environment import ROOT, clean_environment, prepare

        if os.environ.get("PLANNER_BENCH_MOVED"):
            raise
        moved = {**clean_environment(), "PLANNER_BENCH_MOVED": "1"}
        sys.exit(
            subprocess.run(
                [str(prepare("test")), *sys.argv], cwd=ROOT, check=False, env=moved, stdout=None
            ).returncode
        )


if __name__ == "__main__":
    sys.exit(main())
