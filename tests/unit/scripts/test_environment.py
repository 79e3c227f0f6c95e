"""The private environment of the scripts."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT / "scripts"))
import environment  # noqa: E402


def test_what_is_to_be_compiled_is_known(tmp_path: Path) -> None:
    """Also when a file changed that holds no kernel itself, but something that a kernel takes in."""
    package, told = tmp_path / "planner", tmp_path / "home" / "compiled-from"
    package.mkdir()
    inner, outer, plain = package / "inner.py", package / "outer.py", package / "plain.py"
    inner.write_text("from planner.compiled.jit import compiled", encoding="utf-8")
    outer.write_text(
        "from planner.scheduling.problem.jit_no_refcount import jit_no_refcount", encoding="utf-8"
    )
    plain.write_text("x = 1", encoding="utf-8")
    taken, sums = package / "taken.py", package / "sums.py"
    taken.write_text("def mean(): ...", encoding="utf-8")
    sums.write_text(
        "from planner.compiled.jit import compiled\nfrom planner import taken\nx = compiled()(taken.mean)",
        encoding="utf-8",
    )

    def same(change: Path | None) -> bool:
        if change is not None:
            change.write_text(change.read_text(encoding="utf-8") + "  # changed", encoding="utf-8")
        return not environment.kernels_changed(package, told)

    assert not same(None)  # nothing is known of what it was made from
    assert same(None)
    assert same(plain)
    assert not same(inner)
    assert same(None)
    assert not same(outer)
    assert same(None)
    assert not same(taken)  # compiled by another file


def _installing(monkeypatch: pytest.MonkeyPatch, home: Path, fails: int | None) -> list[list[str]]:
    """What a first start runs, where the command at place ``fails`` does."""
    ran: list[list[str]] = []

    def run(command: list[str], **_: Any) -> subprocess.CompletedProcess[str]:
        ran.append(command)
        bad = fails is not None and len(ran) == fails + 1
        return subprocess.CompletedProcess(command, int(bad), stdout="no such file" if bad else "")

    monkeypatch.setattr(environment, "HOME", home)
    monkeypatch.setattr(environment.subprocess, "run", run)
    environment.prepare("test")
    return ran


def test_the_locked_files_are_installed_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """By their hashes, without asking for what they need: a lock holds all of it. Another lock is news."""
    ran = _installing(monkeypatch, tmp_path, None)
    assert [words[2:4] for words in ran[1:]] == [["pip", "install"]] * 3 + [
        ["pip", "--disable-pip-version-check"],
        ["planner", "prepare"],
    ]
    assert all("--require-hashes" in words and "--no-deps" in words for words in ran[1:3])
    assert ran[2][-1].endswith("test.txt")
    assert "--no-deps" in ran[3]
    before = environment._wanted("test")
    monkeypatch.setattr(environment, "LOCKS", tmp_path)
    (tmp_path / "test.txt").write_text("x==1", encoding="utf-8")
    assert environment._wanted("test") != before


@pytest.mark.parametrize("fails", [1, 2, 3, 4])
def test_a_lock_that_does_not_fit_is_in_nobodys_way(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str], fails: int
) -> None:
    """A mirror that lacks a file, another Python: a sentence, and the bounds of the project instead."""
    ran = _installing(monkeypatch, tmp_path, fails)
    assert environment.FALLBACK in capsys.readouterr().out
    assert ran[-2][-2:] == ["--editable", f"{ROOT}[test]"]
    assert "--require-hashes" not in ran[-2]
    assert (tmp_path / "ready-test").is_file()


def test_extras_without_a_lock_are_installed_by_their_bounds(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """No lock, no sentence about one."""
    monkeypatch.setattr(environment, "LOCKS", tmp_path / "none")
    ran = _installing(monkeypatch, tmp_path, None)
    assert [words[-1] for words in ran[1:]] == [f"{ROOT}[test]", "prepare"]


def test_a_program_that_cannot_be_had_is_none(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Neither a failure nor a registry that hangs is more than that."""
    monkeypatch.setattr(environment, "HOME", tmp_path)

    def refuses(command: list[str], **_: Any) -> subprocess.CompletedProcess[str]:
        return subprocess.CompletedProcess(command, 1)

    def hangs(command: list[str], timeout: float, **_: Any) -> None:
        raise subprocess.TimeoutExpired(command, timeout)

    for run in (refuses, hangs):
        monkeypatch.setattr(environment.subprocess, "run", run)
        assert environment.tool("nothing") is None
