"""Ask whether a weakness is known of a package that is pinned: ``python3 scripts/audit.py``.

The answers come from the package registry. Where it gives none, that is said, and nothing is held against
anybody: the exit code is 1 only where a weakness is known.
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

from environment import LOCKS, ROOT, tool

SECONDS = 180
NO_DATA = "Known weaknesses of packages: the registry here gives none to look at; nothing was checked."


def told(answer: str) -> tuple[int, list[str]]:
    """Exit code and lines for the answer of pip-audit (Apache 2.0), a JSON object."""
    try:
        rows: list[dict[str, Any]] = json.loads(answer)["dependencies"]
        asked = [row for row in rows if "vulns" in row]
        known = [(row["name"], row["version"], weak) for row in asked for weak in row["vulns"]]
        lines = [f"{name} {version}: {weak['id']}, {_mended(weak)}" for name, version, weak in known]
    except (ValueError, KeyError, TypeError):
        return 0, [NO_DATA]
    if not asked:
        return 0, [NO_DATA]
    said = (
        f"Known weaknesses of packages: {len(known) or 'none'}; {len(asked)} of {len(rows)} were looked at."
    )
    return (1 if known else 0), [said, *lines]


def _mended(weak: dict[str, Any]) -> str:
    versions = ", ".join(weak["fix_versions"])
    return f"mended in {versions}" if versions else "not mended yet"


def main() -> int:
    """Ask about everything that the tests install, which holds what users install."""
    program = tool("pip-audit")
    answer = ""
    if program is not None:
        words = ["-r", str(LOCKS / "test.txt"), "--no-deps", "--disable-pip", "--format", "json"]
        try:
            answer = subprocess.run(
                [str(program), *words, "--timeout", "10", "--progress-spinner", "off"],
                cwd=ROOT, check=False, timeout=SECONDS, text=True,
                stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
            ).stdout  # fmt: skip
        except subprocess.TimeoutExpired:
            answer = ""
    code, lines = told(answer)
    print("\n".join(lines), flush=True)
    return code


if __name__ == "__main__":
    sys.exit(main())
