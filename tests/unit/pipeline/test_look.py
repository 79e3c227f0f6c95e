"""A look at the meshes of a folder: the same whether they wait on the disk or in memory."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import looking
from planner.api.reading import CHECKING, ReadingRoom, meshes_of
from planner.api.request import PlanRequest
from planner.errors import InputError
from planner.geometry.mesh.parking import Parked
from planner.io.meshes.limits import Limits
from planner.model.mesh_check import FolderCheck
from tests import builders
from tests.kits.folder import folder_of_parts

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
FEW, MANY, FLAT = 100, 500, 1.15  # parts, and peak memory of the many over that of the few
_PEAK = """
import resource, sys
from datetime import UTC, datetime
from pathlib import Path
from planner.api import looking, reading
from planner.api.request import PlanRequest
looking.CHECKING = reading.ReadingRoom(files=20_000, held_bytes=4_000_000)
found = looking.check_folder(PlanRequest((Path(sys.argv[1]),), workers=2), datetime(2026, 12, 1, tzinfo=UTC))
print(len(found.meshes), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.fixture(name="folder", scope="module")
def _folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve parts, one file that is damaged, one too large for a bed, and one there twice."""
    folder = folder_of_parts(tmp_path_factory.mktemp("look") / "kit", 12, fine=0.05)
    (folder / "broken.stl").write_bytes(b"solid of nothing")
    (folder / "spar.stl").write_bytes(builders.stl_bytes(builders.box(900.0, 20.0, 20.0)))
    (folder / "again.stl").write_bytes((folder / "spar.stl").read_bytes())
    return folder


def checked(folder: Path, monkeypatch: pytest.MonkeyPatch, room: ReadingRoom, workers: int) -> FolderCheck:
    monkeypatch.setattr(looking, "CHECKING", room)
    return looking.check_folder(PlanRequest((folder,), workers=workers), NOW)


def test_waiting_on_the_disk_changes_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Findings, fits and sizes of every mesh, for one thread and two, in the order of their names."""
    held = checked(folder, monkeypatch, ReadingRoom(), 1)
    for room in (ReadingRoom(held_bytes=0), ReadingRoom(held_bytes=100_000)):
        assert checked(folder, monkeypatch, room, 2) == held
    names = [one.mesh for one in held.meshes]
    assert names == sorted(names)
    assert len(names) == 14
    assert [one.mesh for one in held.meshes if one.misfit is not None] == ["again.stl", "spar.stl"]
    assert any("same mesh" in finding.text for one in held.meshes for finding in one.findings)
    assert [one.mesh for one in held.set_aside] == ["broken.stl"]


def test_meshes_beyond_the_room_wait_on_the_disk(folder: Path) -> None:
    """The first of them stay in memory."""
    found = meshes_of((folder,), None, None, room=ReadingRoom(held_bytes=20_000))
    waiting = [isinstance(one.mesh._kept, Parked) for one in found.meshes]
    assert any(waiting)
    assert not all(waiting)
    plain = meshes_of((folder,), None, None)
    assert [one.content_hash for one in plain.meshes] == [one.content_hash for one in found.meshes]
    assert not any(isinstance(one.mesh._kept, Parked) for one in plain.meshes)


def test_more_files_may_be_looked_at_than_planned(folder: Path) -> None:
    """A look has a limit of its own, which is one, too."""
    assert CHECKING.files is not None
    assert CHECKING.files > Limits().files
    with pytest.raises(InputError, match="15 mesh files were found; the limit is 14"):
        meshes_of((folder,), None, None, room=ReadingRoom(files=14))
    assert len(meshes_of((folder,), None, None, room=ReadingRoom(files=15)).meshes) == 14


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="asks the system for the memory of a process")
def test_memory_does_not_grow_with_the_parts(tmp_path: Path) -> None:
    """Four hundred parts more are 60 MB of triangles, which no process needs at once."""
    peaks = []
    for number in (FEW, MANY):
        folder = folder_of_parts(tmp_path / f"{number}", number, fine=0.3)
        words = [sys.executable, "-c", _PEAK, str(folder)]
        count, peak = subprocess.run(words, capture_output=True, text=True, check=True).stdout.split()
        assert int(count) == number
        peaks.append(int(peak))
    assert peaks[1] <= FLAT * peaks[0], f"{peaks} kB"
