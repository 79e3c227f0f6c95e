"""Two folders exchanged in one step; where that cannot be done, nothing has happened."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from planner.errors import OutputError
from planner.io.results import output, switch


def two(place: Path) -> tuple[Path, Path]:
    for name in ("new", "old"):
        (place / name).mkdir()
        (place / name / "what").write_text(name, encoding="utf-8")
    return place / "new", place / "old"


@pytest.mark.skipif(sys.platform != "linux", reason="asks for what this system can do")
def test_names_are_exchanged(tmp_path: Path) -> None:
    """Each is under the other's name; where one is not there, nothing happens."""
    new, old = two(tmp_path)
    assert switch.exchanged(new, old)
    assert (new / "what").read_text(encoding="utf-8") == "old"
    assert not switch.exchanged(new, tmp_path / "missing")
    assert (new / "what").read_text(encoding="utf-8") == "old"


def test_where_names_cannot_be_exchanged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two renames do it, and the old folder comes back when the second fails."""
    out = tmp_path / "out"
    output.write_output(out, {"a": b"1"})
    monkeypatch.setattr(switch, "_SYSTEM", "another")
    assert not switch.exchanged(out, out)
    output.write_output(out, {"a": b"2"})
    assert (out / "a").read_bytes() == b"2"
    rename = Path.rename

    def fails(self: Path, target: Path) -> Path:
        if target == out and self.name != "was":
            raise OSError(5, "broken disk")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fails)
    with pytest.raises(OutputError, match="broken disk"):
        output.write_output(out, {"a": b"3"})
    assert (out / "a").read_bytes() == b"2"
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


def test_a_written_file_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every file and every folder is written through first; what cannot be is passed over."""
    asked: list[int] = []
    monkeypatch.setattr("os.fsync", lambda handle: asked.append(handle))
    output.write_output(tmp_path / "out", {"a": b"1", "sub/b": b"2"})
    assert len(asked) >= 2 + 1 + 2 + 1  # two files, the list of them, two folders, the folder around
    switch.kept(tmp_path / "missing")
    switch.kept_whole(tmp_path / "missing")
