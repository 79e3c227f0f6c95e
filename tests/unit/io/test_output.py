"""Results are written whole or not at all, and never over foreign files."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from planner.errors import OutputError
from planner.io.results import output


def test_a_second_plan_replaces_the_first(tmp_path: Path) -> None:
    """Files of the old plan that the new one lacks are gone; nothing else is left behind."""
    out = tmp_path / "deep" / "out"
    output.write_output(out, {"a.txt": b"1", "sub/b.txt": b"2"})
    output.write_output(out, {"a.txt": b"3"})
    assert (out / "a.txt").read_bytes() == b"3"
    assert sorted(p.name for p in out.rglob("*")) == ["a.txt", output.WRITTEN]
    assert [p.name for p in out.parent.iterdir()] == ["out"]


def test_a_foreign_file_stops_everything(tmp_path: Path) -> None:
    """A note that the user put into the results folder is never deleted."""
    output.write_output(tmp_path / "out", {"a.txt": b"1"})
    (tmp_path / "out" / "my notes.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(OutputError, match=r"my notes\.txt"):
        output.write_output(tmp_path / "out", {"a.txt": b"2"})
    assert (tmp_path / "out" / "a.txt").read_bytes() == b"1"


def test_a_folder_of_somebody_else_is_refused(tmp_path: Path) -> None:
    """Any folder with content that we did not write is left alone."""
    (tmp_path / "thesis.doc").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError, match=r"thesis\.doc"):
        output.check_output(tmp_path)


def test_an_empty_folder_is_fine(tmp_path: Path) -> None:
    """An empty folder may be filled."""
    (tmp_path / "out").mkdir()
    output.write_output(tmp_path / "out", {"a.txt": b"1"})
    assert (tmp_path / "out" / "a.txt").exists()


def test_a_file_in_the_place_of_the_folder(tmp_path: Path) -> None:
    """A file is not replaced by a folder."""
    (tmp_path / "out").write_text("x", encoding="utf-8")
    with pytest.raises(OutputError, match="not a folder"):
        output.write_output(tmp_path / "out", {})


def test_names_cannot_leave_the_folder(tmp_path: Path) -> None:
    """A path with .. is refused and nothing is written."""
    with pytest.raises(OutputError):
        output.write_output(tmp_path / "out", {"../evil.txt": b"1"})
    assert list(tmp_path.iterdir()) == []


def test_a_failure_half_way_leaves_the_old_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When the disk is full in the middle, the earlier results are still there and whole."""
    out = tmp_path / "out"
    output.write_output(out, {"a.txt": b"1"})
    written: list[int] = []

    def full(handle: int) -> None:
        written.append(handle)
        if len(written) == 2:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match="No space left"):
        output.write_output(out, {"a.txt": b"2", "b.txt": b"3"})
    assert (out / "a.txt").read_bytes() == b"1"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


@pytest.mark.skipif(
    not hasattr(os, "geteuid") or os.geteuid() == 0, reason="permissions do not bind this user"
)
def test_a_place_without_permission(tmp_path: Path) -> None:
    """An unwritable parent gives one message."""
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(OutputError, match="cannot be written"):
            output.write_output(tmp_path / "out", {"a.txt": b"1"})
    finally:
        tmp_path.chmod(0o700)


def test_new_files_never_overwrite(tmp_path: Path) -> None:
    """A draft is written once and then left alone."""
    assert output.write_new(tmp_path / "airframe.toml", "first")
    assert not output.write_new(tmp_path / "airframe.toml", "second")
    assert (tmp_path / "airframe.toml").read_text(encoding="utf-8") == "first"
