"""The one check command: format, lint, types, rooms, docs, tests. ``--slow`` adds the slow suites."""

from __future__ import annotations

import subprocess
import sys
import time

from environment import HOME, ROOT, clean_environment, prepare

STEPS = (
    ("format", ["ruff", "format", "--check", "."]),
    ("lint", ["ruff", "check", "."]),
    ("types", ["mypy"]),
    ("rooms", ["importlinter.cli", "lint_imports"]),
    ("docs", ["sphinx", "-b", "html", "-W", "--keep-going", "-q", "docs", str(HOME / "docs")]),
    ("tests", ["pytest", "-n", "2", "--dist", "loadfile"]),
)
SLOW = ("slow tests", ["pytest", "-n", "2", "--dist", "worksteal", "-m", "slow"])
SPEED = ("speed", [str(ROOT / "scripts" / "bench.py"), "short"])


def main() -> int:
    """Run every step, also after one has failed; the exit code tells whether all held."""
    interpreter = prepare("test")
    words = [word for word in sys.argv[1:] if word not in ("--slow", "--only-slow")]
    steps = [*STEPS, SLOW, SPEED] if "--slow" in sys.argv else list(STEPS)
    if "--only-slow" in sys.argv:
        steps = [SLOW]
    failed = []
    for name, command in steps:
        began = time.monotonic()
        print(f"--- {name}", flush=True)
        module = _words(name, command)
        extra = words if "tests" in name else []
        done = subprocess.run(
            [str(interpreter), *module, *extra], cwd=ROOT, check=False, env=clean_environment()
        )
        print(
            f"--- {name}: {'holds' if done.returncode == 0 else 'FAILS'} ({time.monotonic() - began:.0f} s)",
            flush=True,
        )
        if done.returncode:
            failed.append(name)
    print("All checks hold." if not failed else f"Failed: {', '.join(failed)}.")
    return 1 if failed else 0


def _words(name: str, command: list[str]) -> list[str]:
    """What the interpreter is given: a module, but for rooms and scripts."""
    if name == "rooms":
        return ["-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"]
    return command if command[0].endswith(".py") else ["-m", *command]


if __name__ == "__main__":
    sys.exit(main())
