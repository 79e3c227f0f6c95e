"""``planner new`` on an archive of parts."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest

from planner.cli.main import app
from tests.builders import box, stl_bytes


def run(path: Path, command: str = "new") -> int:
    with pytest.raises(SystemExit) as ended:
        app([command, str(path)])
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


def test_an_archive_is_looked_at_as_its_folder_is_again_and_again(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Where it went is said beside what is printed; what leads out of it is refused, and writes nothing."""
    path = tmp_path / "kit.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("wing/a.stl", stl_bytes(box(60.0, 30.0, 20.0)))
    texts = []
    for _ in range(2):
        assert run(path, "check") in (0, 1)
        told = capsys.readouterr()
        assert f"unpacked  {path} into {tmp_path / 'kit'}" in told.err
        texts.append(told.out)
    assert run(tmp_path / "kit", "check") in (0, 1)
    assert texts == [capsys.readouterr().out] * 2
    with zipfile.ZipFile(tmp_path / "bad.zip", "w") as archive:
        archive.writestr("../a.stl", b"x")
    assert run(tmp_path / "bad.zip", "plan") == 2
    assert "leads out of its folder" in capsys.readouterr().err
    assert sorted(one.name for one in tmp_path.iterdir()) == ["bad.zip", "kit", "kit.zip"]


@pytest.mark.slow
def test_an_archive_is_planned_and_its_results_lie_where_they_are_asked_for(tmp_path: Path) -> None:
    """From the front door, too: the plan is that of the folder."""
    import planner

    path = tmp_path / "kit.zip"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("a.stl", stl_bytes(box(60.0, 30.0, 20.0)))
    made = planner.plan(path, out=tmp_path / "out", effort="quick", start="2026-12-01T18:00", cache=False)
    assert (made.airframe.name, made.written) == ("kit", tmp_path / "out")
    assert (tmp_path / "out" / "plan.json").is_file()
    assert made.batches
