"""Where results may come to be is asked before the work begins; nothing is left there by asking."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from planner.errors import OutputError
from planner.io.results import output


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_link_is_followed(tmp_path: Path) -> None:
    """The folder behind it is replaced, the link stays; also where it leads to nothing yet."""
    link = tmp_path / "link"
    link.symlink_to(tmp_path / "real")
    for body in (b"1", b"2"):
        output.check_output(link)
        output.write_output(link, {"a": body})
        assert link.is_symlink()
        assert (tmp_path / "real" / "a").read_bytes() == body
    (tmp_path / "circle").symlink_to(tmp_path / "circle")
    with pytest.raises(OutputError):
        output.check_output(tmp_path / "circle")


@pytest.mark.parametrize("name", ["x" * 300, "x" * 245, "é" * 120])
def test_a_name_that_is_too_long(tmp_path: Path, name: str) -> None:
    """Also one that is too long only with what stands beside it for a while."""
    with pytest.raises(OutputError):
        output.check_output(tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_what_cannot_be_renamed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The top of a disk, the folder that one is in, a folder of somebody else."""
    with pytest.raises(OutputError, match="top of a disk"):
        output.check_output(Path(tmp_path.anchor))
    monkeypatch.chdir(tmp_path)
    with pytest.raises(OutputError, match="that you are in"):
        output.check_output(Path())
    out = tmp_path / "out"
    out.mkdir()
    monkeypatch.setattr(output, "_may_be_renamed", lambda _: False)
    with pytest.raises(OutputError, match="may not rename"):
        output.check_output(out)
    assert [path.name for path in tmp_path.iterdir()] == ["out"]


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="asks for owners")
def test_whose_folder_it_is(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a folder that all may write, only the owner renames."""
    out = tmp_path / "out"
    out.mkdir()
    assert output._may_be_renamed(out)
    tmp_path.chmod(0o1777)
    monkeypatch.setattr(os, "geteuid", lambda: out.stat().st_uid + 4711)
    assert not output._may_be_renamed(out)
    monkeypatch.setattr(os, "access", lambda *_: False)
    assert not output._may_be_renamed(out)


def test_a_place_that_is_not_there_yet(tmp_path: Path) -> None:
    """Nothing is made by asking."""
    output.check_output(tmp_path / "deep" / "down" / "out")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(os.name == "nt", reason="a folder that is in use stays there")
def test_from_a_folder_that_is_gone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A whole path needs no folder to start from."""
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    here.rmdir()
    output.check_output(tmp_path / "out")
    assert not (tmp_path / "out").exists()
