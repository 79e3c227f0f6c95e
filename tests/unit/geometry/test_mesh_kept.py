"""How a mesh is kept: 32 bits where they hold every corner, and the same numbers for whoever looks."""

from __future__ import annotations

import copy

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import cylinder


def test_corners_of_32_bits_take_half_and_come_back_to_the_bit() -> None:
    """Minus nought, the smallest and the largest numbers of a file included."""
    stored = cylinder(30.0, 10.0, 400).triangles.astype(np.float32)
    stored[0, 0] = [-0.0, 1e-40, 3e38]
    mesh = TriangleMesh(stored.astype(np.float64))
    assert mesh._kept.nbytes == stored.nbytes
    assert mesh.triangles.dtype == np.float64
    assert (mesh.triangles.view(np.int64) == stored.astype(np.float64).view(np.int64)).all()
    with pytest.raises(ValueError, match="read-only"):
        mesh.triangles[0, 0, 0] = 1.0
    assert (copy.deepcopy(mesh).triangles == mesh.triangles).all()
    assert (mesh.bounds == [stored.reshape(-1, 3).min(axis=0), stored.reshape(-1, 3).max(axis=0)]).all()


def test_one_corner_of_64_bits_keeps_them_all() -> None:
    """Nothing is rounded, wherever the one corner stands, and what was given may change afterwards."""
    for at in (0, 790):
        given = cylinder(30.0, 10.0, 400).triangles.astype(np.float32).astype(np.float64)
        given[at, 1, 2] += 1e-9
        mesh = TriangleMesh(given)
        wanted = given.copy()
        given[5] = 0.0
        assert (mesh.triangles == wanted).all()


def test_merged_corners_stand_in_the_order_of_their_bytes() -> None:
    """As sorting all corners by their bytes would have them: bed files keep their bytes."""
    mesh = TriangleMesh(cylinder(30.0, 10.0, 50).triangles - np.array([3.0, 0.1, 5.0]))
    corners = np.ascontiguousarray(mesh.triangles.reshape(-1, 3) + 0.0)
    keys = corners.view(np.dtype((np.void, 24))).reshape(-1)
    _, first, inverse = np.unique(keys, return_index=True, return_inverse=True)
    vertices, faces = mesh.indexed
    assert (vertices == corners[first]).all()
    assert (faces == inverse.reshape(-1, 3)).all()


def test_an_array_is_copied_unless_it_is_handed_over() -> None:
    corners = np.random.default_rng(1).uniform(0.0, 9.0, (4, 3, 3))
    kept = TriangleMesh(corners)
    assert kept.triangles is not corners
    assert not np.shares_memory(kept.triangles, corners)
    assert corners.flags.writeable
    assert np.shares_memory(TriangleMesh(corners, own=True).triangles, corners)
    assert not corners.flags.writeable
