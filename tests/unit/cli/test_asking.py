"""Questions of a draft, answered on the terminal."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from planner.cli.asking import answer
from planner.io.toml_file import read_toml
from planner.kit.proposal import Proposal
from planner.kit.questions import Answer, Question
from tests.kits.raw import raw_kit, write

ABOUT = (Proposal("a", "filament", "TPU", "soft", 0.5),)


@pytest.mark.parametrize(
    ("lines", "stack", "found"),
    [
        (["y"], "", True), (["No"], "", False), ([""], "", None), (["maybe", "YES"], "", True),
        (["-205"], "hull", -205.0), (["12,5 mm"], "hull", 12.5), (["0"], "hull", 0.0), (["n"], "hull", False),
        (["y", "nan", "1_0", "1e9", "7"], "hull", 7.0), ([""], "hull", None),
    ],
)  # fmt: skip
def test_answers(monkeypatch: pytest.MonkeyPatch, lines: list[str], stack: str, found: Answer) -> None:
    given = iter(lines)
    monkeypatch.setattr("builtins.input", lambda _: next(given))
    told = answer(Question("What?", ABOUT, stack))
    assert (type(told), told) == (type(found), found)
    assert next(given, None) is None


def test_the_end_of_the_input_leaves_it_open(monkeypatch: pytest.MonkeyPatch) -> None:
    def ended(_: str) -> str:
        raise EOFError

    monkeypatch.setattr("builtins.input", ended)
    assert answer(Question("What?", ABOUT)) is None


def drafted(folder: Path, answers: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "planner", "new", str(folder), "--ask"],
        input=answers,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


@pytest.mark.slow
def test_a_draft_that_asks_writes_the_answers(tmp_path: Path) -> None:
    """The start of the fuselage is the one question of this kit; its answer seats all of it."""
    folder = write(raw_kit(0, "en"), tmp_path / "kit")
    done = drafted(folder, "-205\n")
    assert done.returncode == 0, done.stderr
    assert "Where does fuselage_1.stl, fuselage_2.stl" in " ".join(done.stdout.split())
    assert "question" not in done.stdout.splitlines()[-1]
    stacks = {row["name"]: row for row in read_toml(folder / "airframe.toml").values["stack"]}
    assert (stacks["fuselage"]["start_mm"], stacks["fuselage"]["direction"]) == (-205, "aft")
    assert drafted(folder, "").stdout.count("kept as it is") == 2
