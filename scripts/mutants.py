"""How strong the tests of a room are: ``mutants.py ROOM [--cases N --seed S] [--json]``.

The library mutmut (BSD) makes small wrong versions of the room's functions, mutants, and runs for each
the tests that come by it, in a fork of its own. A mutant that fails a test is killed; one that none fails
is shown, for it is either as good as the original or tells what no test asks. Mutated are bodies of
functions without decorators; not constants of modules. Needs the extra ``mutants``.
"""

from __future__ import annotations

import argparse
import json
import os
import random
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from environment import HOME, ROOT, clean_environment

BAR = 0.85
CHILDREN = 2
COPIED = ("planner", "tests", "scripts", "docs", "demo_meshes", "pyproject.toml", "README.md", "CHANGELOG.md")
VERIFIER = tuple(
    f"tests/unit/scheduling/test_verify{name}.py"
    for name in ("", "_rules", "_moments", "_buying", "_clearing", "_hours")
)
ROOMS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {  # what is mutated, by which tests
    "weights": (
        ("planner/weights/*.py",),
        (
            "tests/unit/weights",
            "tests/outside/test_faa_weight_and_balance.py",
            "tests/outside/test_mean_chord.py",
            "tests/outside/test_tube_masses.py",
            "tests/outside/test_wing_cube_loading.py",
            "tests/property/test_mass_adds_up.py",
            "tests/property/test_stack_lengths.py",
        ),
    ),
    "costing": (("planner/costing/*.py",), ("tests/unit/costing",)),
    "scheduling": (("planner/scheduling/verify*.py",), VERIFIER),
    "nesting": (("planner/nesting/verify*.py",), ("tests/unit/nesting/test_verify_rules.py",)),
}


def main() -> int:
    """One room; the exit code tells whether the bar holds."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("room", choices=ROOMS)
    parser.add_argument("--cases", type=int, help="so many mutants, drawn by the seed; else all of them")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true", help="print a record instead of text")
    words = parser.parse_args()
    sources, tests = ROOMS[words.room]
    home = HOME / "mutants" / words.room
    copy_project(home, sources, tests)
    os.chdir(home)  # where mutmut looks for everything
    every = mutant_names(sources)
    drawn = every
    if words.cases is not None and words.cases < len(every):
        drawn = sorted(random.Random(words.seed).sample(every, words.cases))  # noqa: S311
    told = run(drawn)
    answer = {
        "room": words.room,
        "made": len(every),
        "tried": len(drawn),
        "killed": sum(word in ("killed", "timeout") for word in told.values()),
        "bar": BAR,
        "survivors": [
            {"name": name, "fate": word, "change": change(name)}
            for name, word in told.items()
            if word not in ("killed", "timeout")
        ],
    }
    print(json.dumps(answer, indent=1) if words.json else text(answer))
    return 0 if answer["killed"] >= BAR * answer["tried"] else 1


def copy_project(home: Path, sources: tuple[str, ...], tests: tuple[str, ...]) -> None:
    """A copy that mutmut may write into, compiled code and all, with the settings of the room."""
    shutil.rmtree(home, ignore_errors=True)
    home.mkdir(parents=True)
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, home / name)
        else:
            shutil.copy2(ROOT / name, home / name)
    settings = {
        "source_paths": ["planner"],
        "only_mutate": list(sources),
        "also_copy": [name for name in COPIED if name not in ("planner", "tests", "pyproject.toml")],
        "pytest_add_cli_args": ["-p", "no:cacheprovider"],
        "pytest_add_cli_args_test_selection": list(tests),
    }
    with (home / "pyproject.toml").open("a", encoding="utf-8") as project:
        project.write("\n[tool.mutmut]\n")
        project.writelines(f"{key} = {json.dumps(value)}\n" for key, value in settings.items())


def mutant_names(sources: tuple[str, ...]) -> list[str]:
    """All mutants of the room, by the names that mutmut gives them."""
    from mutmut.mutation.file_mutation import mutate_file_contents

    names: list[str] = []
    for path in sorted(path for pattern in sources for path in Path().glob(pattern)):
        module = ".".join(path.with_suffix("").parts).removesuffix(".__init__")
        made = mutate_file_contents(str(path), path.read_text(encoding="utf-8")).mutant_names
        names += [f"{module}.{name}" for name in made]
    return names


def run(names: list[str]) -> dict[str, str]:
    """What became of each mutant, in mutmut's words."""
    from mutmut.stats import status_by_exit_code

    log = Path("mutants.log")
    with log.open("wb") as out:
        done = subprocess.run(
            [sys.executable, "-m", "mutmut", "run", "--max-children", str(CHILDREN), *names],
            env=clean_environment(),
            stdout=out,
            stderr=subprocess.STDOUT,
            check=False,
        )
    codes: dict[str, Any] = {}
    for path in Path("mutants/planner").rglob("*.meta"):
        codes |= json.loads(path.read_text(encoding="utf-8"))["exit_code_by_key"]
    told = {name: status_by_exit_code[codes.get(name)] for name in names}
    if done.returncode or "not checked" in told.values():
        sys.exit(f"The tests do not hold by themselves, or mutmut ended early: see {log.resolve()}.")
    return told


def change(name: str) -> str:
    """The lines in which a mutant differs."""
    from mutmut.mutation.diff_apply import get_diff_for_mutant

    lines = get_diff_for_mutant(name).splitlines()[2:]
    return "\n".join(line for line in lines if line[:1] in "+-")


def text(answer: dict[str, Any]) -> str:
    """Survivors with their changes, then the sum."""
    lines = [f"{found['name']} ({found['fate']})\n{found['change']}" for found in answer["survivors"]]
    share = answer["killed"] / answer["tried"] if answer["tried"] else 1.0
    lines.append(
        f"{answer['room']}: {answer['killed']} of {answer['tried']} killed ({share:.1%}, bar {BAR:.0%}); "
        f"{answer['made']} made"
    )
    return "\n".join(lines)


if __name__ == "__main__":
    from environment import prepare, python

    if Path(sys.prefix) != python().parent.parent:
        sys.exit(subprocess.run([str(prepare("mutants")), __file__, *sys.argv[1:]], check=False).returncode)
    sys.exit(main())
