"""Archives of parts: unpacked whole beside themselves, or refused with nothing written."""

from __future__ import annotations

import stat
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest

from planner import api
from planner.api import PlanRequest
from planner.errors import InputError
from planner.io.meshes.archive import is_archive, unpack
from planner.io.meshes.limits import Limits
from tests.builders import box, stl_bytes

PART = stl_bytes(box(30.0, 20.0, 10.0))
FILES = {"wing/a.stl": PART, "wing/b.STL": PART, "nose.stl": PART, "read me.txt": b"hello"}


def packed(place: Path, files: Mapping[str, bytes] = FILES) -> Path:
    path = place / "kit.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return path


def files_in(folder: Path) -> set[str]:
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}


def test_meshes_and_records_are_unpacked_beside_it_and_folders_stay_sections(tmp_path: Path) -> None:
    path = packed(tmp_path, {**FILES, "airframe.toml": b"", "__MACOSX/nose.stl": b"x", ".hidden/c.stl": b"y"})
    assert is_archive(path)
    folder = unpack(path, Limits())
    assert folder == tmp_path / "kit"
    assert files_in(folder) == {"wing/a.stl", "wing/b.STL", "nose.stl", "airframe.toml"}
    assert (folder / "nose.stl").read_bytes() == PART
    assert {one.name for one in api.mesh_folder(folder).meshes} == {"wing/a.stl", "wing/b.STL", "nose.stl"}


def test_a_single_folder_round_all_is_left_out(tmp_path: Path) -> None:
    path = packed(tmp_path, {"My kit/wing/a.stl": PART, "My kit/nose.stl": PART})
    assert files_in(unpack(path, Limits())) == {"wing/a.stl", "nose.stl"}
    (tmp_path / "kit").rename(tmp_path / "first")
    only = packed(tmp_path, {"Flügel/a.stl": PART})  # a section by its own name
    assert files_in(unpack(only, Limits())) == {"Flügel/a.stl"}


@pytest.mark.parametrize(
    "name", ["../a.stl", "x/../../a.stl", "/etc/a.stl", "..\\a.stl", "C:/a.stl", "\\\\host\\a.stl"]
)
def test_a_path_that_leads_out_is_refused_and_nothing_is_written(tmp_path: Path, name: str) -> None:
    inside = tmp_path / "in"
    inside.mkdir()
    path = packed(inside, {"good.stl": PART, name: PART})
    with pytest.raises(InputError, match="leads out of its folder") as error:
        unpack(path, Limits())
    assert "nothing was unpacked" in str(error.value)
    assert files_in(tmp_path) == {"in/kit.zip"}


def test_links_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "kit.zip"
    with zipfile.ZipFile(path, "w") as archive:
        entry = zipfile.ZipInfo("a.stl")
        entry.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(entry, "/etc/passwd")
    with pytest.raises(InputError, match="a link"):
        unpack(path, Limits())
    assert files_in(tmp_path) == {"kit.zip"}


@pytest.mark.parametrize(
    ("limits", "said"),
    [
        (Limits(archive_bytes=100), "unpacks to"),
        (Limits(archive_entries=2), "holds 4 files"),
        (Limits(archive_floor_bytes=100, archive_ratio=1.5), "times its size"),
        (Limits(files=2), "3 meshes; the limit is 2"),
    ],
)
def test_archives_over_a_limit_are_refused(tmp_path: Path, limits: Limits, said: str) -> None:
    with pytest.raises(InputError, match=said) as error:
        unpack(packed(tmp_path), limits)
    assert "Unpack it by hand" in str(error.value)
    assert files_in(tmp_path) == {"kit.zip"}


def test_damaged_empty_and_doubled_archives_are_refused(tmp_path: Path) -> None:
    path = packed(tmp_path)
    whole = path.read_bytes()
    torn = bytearray(whole)
    torn[60] ^= 0xFF  # within the first entry's packed bytes
    for data in (b"no archive", whole[: len(whole) // 2], bytes(torn)):
        path.write_bytes(data)
        with pytest.raises(InputError, match="damaged"):
            unpack(path, Limits())
    for files, said in (
        ({"read me.txt": b"x"}, "holds no mesh"),
        ({"a.stl": PART, "A.STL": PART}, "twice"),
        ({"a.stl": PART, "a.stl/b.stl": PART}, "cannot be unpacked"),
    ):
        with pytest.raises(InputError, match=said):
            unpack(packed(tmp_path, files), Limits())
    assert files_in(tmp_path) == {"kit.zip"}


def test_a_folder_that_is_there_is_kept(tmp_path: Path) -> None:
    path = packed(tmp_path)
    (tmp_path / "kit").mkdir()
    (tmp_path / "kit" / "mine.txt").write_text("mine")
    with pytest.raises(InputError, match="is there already"):
        unpack(path, Limits())
    assert files_in(tmp_path / "kit") == {"mine.txt"}


def test_an_unpacked_folder_is_taken_again_as_long_as_its_meshes_are_the_archive_s(tmp_path: Path) -> None:
    """Records may be written and changed there; a mesh that differs, or is gone, is told by its name."""
    path = packed(tmp_path, {**FILES, "airframe.toml": b"# theirs"})
    folder = unpack(path, Limits(), again=True)
    (folder / "airframe.toml").write_text("# mine")
    (folder / "workshop.toml").write_text("# mine, too")
    assert unpack(path, Limits(), again=True) == folder
    assert (folder / "airframe.toml").read_text() == "# mine"
    changed = bytearray(PART)
    changed[100] ^= 1
    (folder / "wing/a.stl").write_bytes(changed)
    with pytest.raises(InputError, match=r"kit is there already, and wing/a\.stl is not the archive's"):
        unpack(path, Limits(), again=True)
    assert (folder / "wing/a.stl").read_bytes() == changed
    (folder / "wing/a.stl").unlink()
    with pytest.raises(InputError, match="nothing was unpacked"):
        unpack(path, Limits(), again=True)
    (tmp_path / "other.zip").write_bytes(path.read_bytes())
    (tmp_path / "other").write_text("no folder")
    with pytest.raises(InputError, match="is there already"):
        unpack(tmp_path / "other.zip", Limits(), again=True)


def test_a_plan_of_an_archive_says_what_to_do_and_a_folder_is_no_archive(tmp_path: Path) -> None:
    path = packed(tmp_path)
    with pytest.raises(InputError, match="it is an archive") as error:
        api.plan_folder(PlanRequest((path,), out=tmp_path / "out"), None)  # type: ignore[arg-type]
    assert 'planner new "kit.zip"' in str(error.value)
    (tmp_path / "odd.zip").mkdir()
    assert not is_archive(tmp_path / "odd.zip")
    assert api.unpacked(tmp_path) == tmp_path
    assert api.unpacked(path) == tmp_path / "kit"
