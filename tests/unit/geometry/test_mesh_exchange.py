"""Meshes handed to and taken from trimesh and numpy-stl, and what those libraries say of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import stl
import trimesh

from planner.errors import MeshError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_file
from tests.builders import aerofoil_slab, stl_bytes, tube


def _sorted(mesh: TriangleMesh) -> np.ndarray:
    rows = mesh.triangles.reshape(len(mesh), 9)
    return rows[np.lexsort(rows.T)]


@pytest.mark.parametrize("mesh", [tube(50.0, 47.0, 80.0), aerofoil_slab(120.0, 60.0)])
def test_trimesh_there_and_back(mesh: TriangleMesh) -> None:
    """The same triangles; trimesh finds it closed, with the volume of its prism."""
    given = mesh.to_trimesh()
    assert given.is_watertight
    assert len(given.faces) == len(mesh)
    back = TriangleMesh.from_trimesh(given)
    assert np.array_equal(back.triangles, mesh.triangles)


def test_numpy_stl_there_and_back(tmp_path: Path) -> None:
    """A file that either writes is read by the other as the same triangles."""
    mesh = tube(50.0, 47.0, 80.0)
    mesh.to_numpy_stl().save(tmp_path / "a.stl")
    read = read_file((tmp_path / "a.stl").read_bytes(), ".stl", Limits())[0]
    assert np.array_equal(read.triangles, mesh.triangles.astype(np.float32))
    (tmp_path / "b.stl").write_bytes(stl_bytes(mesh))
    back = TriangleMesh.from_numpy_stl(stl.mesh.Mesh.from_file(tmp_path / "b.stl"))
    assert np.array_equal(back.triangles, mesh.triangles.astype(np.float32))
    volume = mesh.to_numpy_stl().get_mass_properties()[0]
    assert volume == pytest.approx(mesh.to_trimesh().volume, rel=1e-4)


def test_a_scene_without_triangles_is_refused() -> None:
    """In our words, not in those of the library."""
    with pytest.raises(MeshError, match="no triangle"):
        TriangleMesh.from_trimesh(trimesh.Trimesh())
