"""Meshes that wait on the disk are the same meshes, to the bit."""

from __future__ import annotations

import pickle
import tempfile
from typing import Any

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.parking import Parked, Parking
from tests import builders

PLAIN = builders.tube(40.0, 20.0, 4.0, n=60)  # needs 64 bits
SINGLE = TriangleMesh(PLAIN.triangles.astype(np.float32).astype(np.float64))


def twin(mesh: TriangleMesh) -> TriangleMesh:
    return TriangleMesh(mesh.triangles)


@pytest.mark.parametrize("mesh", [PLAIN, SINGLE])
def test_a_parked_mesh_is_the_same(mesh: TriangleMesh) -> None:
    """Corners, box, digest and corners merged; nobody can write into any of them."""
    parked = twin(mesh)
    assert parked.indexed is parked.indexed
    parked.park(Parking(0))
    assert isinstance(parked._kept, Parked)
    assert parked.triangles.tobytes() == mesh.triangles.tobytes()
    assert parked.triangles.dtype == np.float64
    assert not parked.triangles.flags.writeable
    assert len(parked) == len(mesh)
    assert parked.digest == mesh.digest
    assert parked.bounds.tobytes() == mesh.bounds.tobytes()
    assert parked.indexed is not parked.indexed
    assert all(a.tobytes() == b.tobytes() for a, b in zip(parked.indexed, mesh.indexed, strict=True))


def test_many_in_one_file() -> None:
    """Each comes back as it was, in whatever order they are asked for, and parked twice is parked once."""
    place = Parking(0)
    meshes = [builders.box(10.0 + k, 20.0, 5.0) for k in range(5)]
    parked = [twin(mesh) for mesh in meshes]
    for one in (*parked, *parked):
        one.park(place)
    for k in (3, 0, 4, 1, 2):
        assert parked[k].triangles.tobytes() == meshes[k].triangles.tobytes()


def test_the_first_ones_stay_in_memory() -> None:
    """As many as there is room for; the next smaller one may still have it."""
    array = np.zeros((10, 3, 3))
    place = Parking(array.nbytes + 72)
    assert place.put(array) is array
    assert isinstance(place.put(array), Parked)
    assert not isinstance(place.put(array[:1]), Parked)


def test_what_is_sent_is_the_mesh() -> None:
    """To another process, where the file is not."""
    parked = twin(SINGLE)
    parked.park(Parking(0))
    there = pickle.loads(pickle.dumps(parked))  # noqa: S301  our own
    assert there.digest == SINGLE.digest
    assert there.triangles.tobytes() == SINGLE.triangles.tobytes()
    held = Parking(0).put(PLAIN.triangles)
    there_too = pickle.loads(pickle.dumps(held))  # noqa: S301  our own
    assert there_too.tobytes() == PLAIN.triangles.tobytes()


def test_a_full_disk_leaves_it_in_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is lost where no file can be made, nor where it takes no more."""
    place = Parking(0)
    mesh = twin(PLAIN)

    def full(*_: Any, **__: Any) -> Any:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as there:
        there.setattr(tempfile, "TemporaryFile", full)
        mesh.park(place)
    assert not isinstance(mesh._kept, Parked)
    first = place.put(PLAIN.triangles)
    assert isinstance(first, Parked)
    monkeypatch.setattr(place, "_file", _Half(place._file))
    assert place.put(SINGLE.triangles) is SINGLE.triangles
    monkeypatch.undo()
    again = place.put(SINGLE.triangles)
    assert isinstance(again, Parked)
    assert again.fetched().tobytes() == SINGLE.triangles.tobytes()
    assert first.fetched().tobytes() == PLAIN.triangles.tobytes()


class _Half:
    """A file that takes some bytes and then no more."""

    def __init__(self, file: Any) -> None:
        self.seek, self._file, self._taken = file.seek, file, False

    def write(self, data: memoryview) -> int:
        if self._taken:
            raise OSError(28, "No space left on device")
        self._taken = True
        return int(self._file.write(data[:7]))


def test_the_file_goes_with_the_last_mesh() -> None:
    """It is open as long as one is in it, however long the place itself is held."""
    place = Parking(0)
    mesh = twin(PLAIN)
    mesh.park(place)
    file = place._file
    del place
    assert mesh.triangles.tobytes() == PLAIN.triangles.tobytes()
    assert not file.closed
    del mesh
    assert file.closed
