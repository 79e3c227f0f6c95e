"""The demo without its records."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def demo(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.syspath_prepend(str(ROOT / "scripts"))
    import demo

    yield demo
    sys.modules.pop("demo", None)


def test_meshes_alone_are_all_meshes_and_no_record(demo, tmp_path: Path) -> None:
    (tmp_path / "alone").mkdir()
    (tmp_path / "alone" / "airframe.toml").write_text("left from before", encoding="utf-8")
    folder = demo.meshes_alone(tmp_path / "alone")
    there = {path.name for path in folder.iterdir()}
    wanted = {path.name for path in (ROOT / "demo_meshes").iterdir() if path.suffix != ".toml"}
    assert there == wanted
    assert len(there) > 30


def test_the_raw_demo_plans_them_and_hands_words_on(demo, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[list[str]] = []

    def run(command: list[str], **_: object) -> subprocess.CompletedProcess[str]:
        asked.append(command)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(demo.subprocess, "run", run)
    monkeypatch.setattr(demo, "prepare", lambda: Path(sys.executable))
    monkeypatch.setattr(demo, "meshes_alone", lambda folder: folder)
    monkeypatch.setattr(sys, "argv", ["demo.py", "--raw", "--effort", "quick"])
    assert demo.main() == 0
    (command,) = asked
    assert command[command.index("plan") + 1].endswith("meshes-alone")
    assert command[-2:] == ["--effort", "quick"]
    assert "--raw" not in command
