"""What the one check command runs, and with which words."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
import check


@pytest.mark.parametrize(("words", "slow"), [([], False), (["--slow", "-k", "spool"], True)])
def test_steps_and_their_words(words: list[str], slow: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Speed is held last, with the slow tests; further words go to the tests alone."""
    asked: list[list[str]] = []

    def run(command: list[str], **_: Any) -> SimpleNamespace:
        asked.append(command[1:])
        return SimpleNamespace(returncode=0)

    monkeypatch.setattr(sys, "argv", ["check.py", *words])
    monkeypatch.setattr(check, "prepare", lambda _: Path("python"))
    monkeypatch.setattr(subprocess, "run", run)
    assert check.main() == 0
    assert asked[0] == ["-m", "ruff", "format", "--check", "."]
    assert any("lint_imports_command" in command[1] for command in asked)
    assert [command[-2:] == ["-k", "spool"] for command in asked].count(True) == 2 * slow
    speed = [str(Path(check.__file__).with_name("bench.py")), "short"]
    assert (asked[-1] == speed) is slow
    assert Path(speed[0]).is_file()


def test_one_step_that_fails_fails_all(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The others are run as well."""

    def run(command: list[str], **_: Any) -> SimpleNamespace:
        return SimpleNamespace(returncode=int(command[-1] == "short"))

    monkeypatch.setattr(sys, "argv", ["check.py", "--slow"])
    monkeypatch.setattr(check, "prepare", lambda _: Path("python"))
    monkeypatch.setattr(subprocess, "run", run)
    assert check.main() == 1
    assert capsys.readouterr().out.rstrip().endswith("Failed: speed.")
