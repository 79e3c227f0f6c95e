"""A folder that is read again and again: what has not changed is taken from memory, and nothing else is."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from planner.io.meshes import kept_files
from planner.io.meshes.kept_files import KeptFiles
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_folder import MeshFolder
from planner.io.meshes.meshes import read_meshes
from planner.io.meshes.own_units import OwnUnit
from tests.builders import box, stl_bytes


@pytest.fixture
def settled(monkeypatch: pytest.MonkeyPatch) -> None:
    """Files count as settled as soon as they are written."""
    monkeypatch.setattr(kept_files, "_SETTLED_NS", 0)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for n in range(3):
        (tmp_path / f"part_{n}.stl").write_bytes(stl_bytes(box(40.0, 10.0 + n, 3.0)))
    (tmp_path / "broken.stl").write_bytes(b"no mesh")
    return tmp_path


def told(folder: MeshFolder) -> tuple[object, ...]:
    """All that a reading tells, by content."""
    rows = [(r.name, r.content_hash, r.file_unit, r.copies_in_file, r.findings) for r in folder.meshes]
    return rows, folder.set_aside, folder.findings, folder.assumptions


def again(
    folder: Path, kept: KeptFiles, own: tuple[OwnUnit, ...] = (), unit: str | None = None
) -> MeshFolder:
    """Read with what is kept; the same as read without."""
    read = read_meshes(folder, limits=Limits(), unit=unit, own=own, kept=kept)
    assert told(read) == told(read_meshes(folder, limits=Limits(), unit=unit, own=own))
    return read


@pytest.mark.usefixtures("settled")
def test_what_has_not_changed_is_the_same_value(folder: Path) -> None:
    """Meshes are the same objects; what was refused is refused again."""
    kept = KeptFiles()
    first, second = again(folder, kept), again(folder, kept)
    assert all(a.mesh is b.mesh for a, b in zip(first.meshes, second.meshes, strict=True))
    assert [aside.mesh for aside in second.set_aside] == ["broken.stl"]


@pytest.mark.usefixtures("settled")
def test_a_file_in_the_place_of_another_is_read(folder: Path) -> None:
    """Of the same size and the same time of writing; the others stay as they are."""
    kept, file = KeptFiles(), folder / "part_1.stl"
    first = again(folder, kept)
    was = file.stat()
    fresh = folder / "fresh.part"
    fresh.write_bytes(stl_bytes(box(41.0, 11.0, 3.0)))
    os.utime(fresh, ns=(was.st_atime_ns, was.st_mtime_ns))
    fresh.replace(file)
    assert file.stat().st_size == was.st_size
    second = again(folder, kept)
    assert second.meshes[1].mesh.extents[0] == pytest.approx(41.0)
    assert second.meshes[0].mesh is first.meshes[0].mesh


def test_what_was_written_just_now_is_read_anew(folder: Path) -> None:
    """Twice within one tick of a disk, in the same place and size: no sign would tell the two apart."""
    kept, file = KeptFiles(), folder / "part_1.stl"
    again(folder, kept)
    with file.open("r+b") as stream:
        stream.write(stl_bytes(box(42.0, 11.0, 3.0)))
    assert again(folder, kept).meshes[1].mesh.extents[0] == pytest.approx(42.0)


@pytest.mark.usefixtures("settled")
def test_units_and_rows_of_parts_count_anew(folder: Path) -> None:
    """Another unit of the folder, one of a row, and back."""
    kept = KeptFiles()
    assert again(folder, kept).meshes[0].file_unit == "millimeter"
    assert again(folder, kept, unit="inch").meshes[0].mesh.extents[0] == pytest.approx(40 * 25.4)
    own = (OwnUnit("part_2.stl", scale=2.0),)
    assert again(folder, kept, own).meshes[2].mesh.extents[0] == pytest.approx(80.0)
    assert again(folder, kept).meshes[2].mesh.extents[0] == pytest.approx(40.0)


@pytest.mark.usefixtures("settled")
def test_any_row_of_changes_reads_like_a_first_time(folder: Path) -> None:
    """Files come, go, change and are put back, drawn from a seed."""
    rng, kept = np.random.default_rng(5), KeptFiles()
    for _ in range(25):
        file = folder / f"part_{rng.integers(6)}.stl"
        if file.exists() and rng.random() < 0.3 and file.name != "part_0.stl":
            file.unlink()
        else:
            file.write_bytes(stl_bytes(box(*(float(v) for v in rng.integers(5, 60, 3)))))
        again(folder, kept, unit=[None, "inch"][int(rng.integers(2))])
