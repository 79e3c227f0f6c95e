"""Reading and mass properties against the library numpy-stl (SOURCES.md: numpy-stl)."""

from __future__ import annotations

import io

import numpy as np
import pytest

from planner.geometry.mesh.measure import measures
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.stl import read_stl
from tests import builders as build

stl = pytest.importorskip("stl", reason="numpy-stl is not installed")

SINGLE = 2e-6  # relative; numpy-stl keeps 32-bit floats and sums in them
SOLIDS = {
    "box": build.box(10, 20, 30),
    "wing": build.aerofoil_slab(180, 200, tip_chord=140),
    "tube": build.tube(50, 44, 100),
    "ring": build.ring(40, 8),
}


@pytest.mark.parametrize("name", SOLIDS)
def test_volume_centroid_and_inertia_agree(name: str) -> None:
    """Two formulas by different authors; inertia about the centroid."""
    solid = SOLIDS[name]
    other = stl.mesh.Mesh(np.zeros(len(solid), dtype=stl.mesh.Mesh.dtype))
    other.vectors[:] = solid.triangles
    volume, centroid, inertia = other.get_mass_properties()
    found = measures(solid)
    size = float(solid.extents.max())
    assert found.volume == pytest.approx(volume, rel=SINGLE * 10)
    assert found.centroid == pytest.approx(centroid, abs=SINGLE * 10 * size)
    # numpy-stl sums about the origin; what cancels there scales with volume times size squared.
    assert found.inertia == pytest.approx(inertia, abs=SINGLE * 20 * found.volume * size**2)


@pytest.mark.parametrize("ascii_", [False, True])
def test_a_file_written_by_the_library_is_read_alike(ascii_: bool) -> None:
    """Every corner as it was written; ASCII keeps seven digits."""
    solid = SOLIDS["wing"]
    other = stl.mesh.Mesh(np.zeros(len(solid), dtype=stl.mesh.Mesh.dtype))
    other.vectors[:] = solid.triangles
    stream = io.BytesIO()
    other.save("part", fh=stream, mode=stl.Mode.ASCII if ascii_ else stl.Mode.BINARY)
    found = read_stl(stream.getvalue(), Limits()).triangles
    assert np.allclose(found, solid.triangles, rtol=SINGLE, atol=1e-4 if ascii_ else 1e-5)
    assert len(found) == len(solid)


def test_the_library_reads_the_files_of_the_tests() -> None:
    """The writer that the tests use is itself checked by another reader."""
    other = stl.mesh.Mesh.from_file("x", fh=io.BytesIO(build.stl_bytes(SOLIDS["ring"])))
    assert np.allclose(other.vectors, SOLIDS["ring"].triangles, atol=1e-5)
    assert TriangleMesh(other.vectors.astype(float)).extents == pytest.approx([48, 48, 8], abs=0.01)
