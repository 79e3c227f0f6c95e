"""Pin every package that the environments are made of, by its hash: ``python3 scripts/lock.py``.

Writes ``scripts/locks``: what builds the project (``build.txt``), what it needs (``plain.txt``), what its
tests need (``test.txt``). Versions that still fit stay; ``--upgrade`` takes the newest of all.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path

from environment import LOCKS, ROOT, tool

BUILT_WITH = ("editables>=0.5", "setuptools>=77")  # for installing in place; for what has no wheel
HEAD = "# Made by scripts/lock.py: every file by its hash, for every system, from Python 3.11 on.\n"
PLAIN_WAYS = ("--universal", "--generate-hashes", "--no-annotate", "--no-header", "--quiet")
_PIN = re.compile(r"^([A-Za-z0-9._-]+)==(\S+)", re.MULTILINE)

Run = Callable[[Sequence[str]], None]


def lock(run: Run, folder: Path = LOCKS, *, upgrade: bool = False) -> None:
    """Resolve all three, each within the versions of those before it: one environment can hold all."""
    asked = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    folder.mkdir(exist_ok=True)
    source = folder / "build.in"
    source.write_text("\n".join((*asked["build-system"]["requires"], *BUILT_WITH)) + "\n", encoding="utf-8")
    least = asked["project"]["requires-python"].removeprefix(">=")
    project = str(ROOT / "pyproject.toml")
    ways = [*PLAIN_WAYS, "--python-version", least, *(["--upgrade"] if upgrade else [])]
    made: list[str] = []
    try:
        for name, words in (
            ("build", [str(source)]),
            ("test", [project, "--extra", "test"]),
            ("plain", [project]),
        ):
            file = folder / f"{name}.txt"
            run(["pip", "compile", *ways, *made, *words, "--output-file", str(file)])
            text = file.read_text(encoding="utf-8")
            file.write_text(HEAD + text.removeprefix(HEAD), encoding="utf-8")
            made += ["--constraints", str(file)]
    finally:
        source.unlink()


def pins(file: Path) -> dict[str, set[str]]:
    """Names in their plain spelling, and the versions that are pinned, one for each kind of Python."""
    found: dict[str, set[str]] = {}
    for name, version in _PIN.findall(file.read_text(encoding="utf-8")):
        found.setdefault(re.sub(r"[-_.]+", "-", name).lower(), set()).add(version)
    return found


def main() -> int:
    """Make the locks anew with uv (MIT or Apache 2.0), which is installed for it."""
    program = tool("uv")
    if program is None:
        print("uv cannot be installed here; the locks stay as they are.")
        return 1

    def run(words: Sequence[str]) -> None:
        subprocess.run([str(program), *words], cwd=ROOT, check=True)

    lock(run, upgrade="--upgrade" in sys.argv[1:])
    return 0


if __name__ == "__main__":
    sys.exit(main())
