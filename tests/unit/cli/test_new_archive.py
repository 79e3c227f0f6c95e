"""``planner new`` on an archive of parts."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from planner.cli.main import app
from tests.builders import box, stl_bytes


def run(path: Path) -> int:
    with pytest.raises(SystemExit) as ended:
        app(["new", str(path)])
    code = ended.value.code
    return code if isinstance(code, int) else 0


def test_an_archive_is_unpacked_and_drafted_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "kit.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("wing/a.stl", stl_bytes(box(60.0, 30.0, 20.0)))
    assert run(path) == 0
    out = capsys.readouterr().out
    assert "unpacked" in out
    assert 'mesh = "wing/a.stl"' in (tmp_path / "kit" / "airframe.toml").read_text(encoding="utf-8")
    assert run(path) != 0
    assert "is there already" in capsys.readouterr().err
