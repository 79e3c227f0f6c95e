"""Wavefront OBJ."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import MeshError
from planner.geometry.mesh.measure import volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.obj import read_obj
from tests import builders as build

CUBE = """# a cube of quadrilaterals
mtllib none.mtl
v 0 0 0
v 1 0 0
v 1 1 0
v 0 1 0
v 0 0 1
v 1 0 1 1.0
v 1 1 1
v 0 1 1
vt 0 0
vn 0 0 1
usemtl skin
s off
f 4/1/1 3/1/1 2/1/1 1/1/1
f 5 6 7 8
f 1//1 2//1 6//1 5//1
f 2 3 7 6
f -6 -5 -1 -2
f 4/1 1/1 5/1 8/1
"""


def test_polygons_and_every_way_to_name_a_vertex_are_read() -> None:
    """Quadrilaterals, v/vt/vn, v//vn, v/vt, indices from the end: a cube of 1 mm3."""
    (raw,) = read_obj(CUBE.encode(), Limits())
    assert len(raw.triangles) == 12
    assert volume(TriangleMesh(raw.triangles)) == pytest.approx(1)
    assert raw.unit is None


def test_triangles_come_back_as_they_were_written() -> None:
    """A wing with shared vertices, every corner to the bit."""
    mesh = build.aerofoil_slab(180, 50)
    (raw,) = read_obj(build.obj_bytes(mesh), Limits())
    assert np.array_equal(raw.triangles, mesh.triangles)


def test_each_object_with_faces_is_a_mesh() -> None:
    """Two objects share the numbering of the vertices; an empty one is passed over."""
    text = CUBE.replace("usemtl skin", "o left").replace("f 2 3 7 6", "o nothing\no right\nf 2 3 7 6")
    meshes = read_obj(text.encode(), Limits())
    assert [(raw.label, len(raw.triangles)) for raw in meshes] == [("left", 6), ("right", 6)]


def test_lines_may_be_continued_and_indented() -> None:
    """A backslash at the end of a line joins the next to it."""
    (raw,) = read_obj(b"v 0 0 0\r\nv 1 0 \\\r\n0\r\n  v 0 1 0\r\nf 1 \\\r\n2 3\r\n", Limits())
    assert raw.triangles.tolist() == [[[0, 0, 0], [1, 0, 0], [0, 1, 0]]]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("v 0 0\n", "line 1"),
        ("v 0 0 x\n", "line 1"),
        ("v 0 0 0\nf 1 1\n", "line 2"),
        ("v 0 0 0\nf 0 1 1\n", "line 2"),
        ("v 0 0 0\nf -2 1 1\n", "line 2"),
        ("v 0 0 0\nf 1 2 1\n", "names vertex 2"),
        ("v 0 0 0\nf 1.5 1 1\n", "line 2"),
        ("v 0 0 0\n", "no face"),
        ("hello\n", "no face"),
        ("\0\1\2", "not text"),
    ],
)
def test_broken_files_are_refused_with_their_line(text: str, said: str) -> None:
    """What is wrong and where."""
    with pytest.raises(MeshError, match=said):
        read_obj(text.encode(), Limits())


def test_the_limit_on_triangles_counts_those_of_polygons() -> None:
    """Six quadrilaterals are twelve triangles."""
    with pytest.raises(MeshError, match="the limit is 11"):
        read_obj(CUBE.encode(), Limits(triangles=11))
