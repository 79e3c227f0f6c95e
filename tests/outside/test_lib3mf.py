"""3MF files against the consortium's own library (SOURCES.md: lib3mf)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from planner.geometry.mesh.measure import volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.threemf import read_threemf
from tests import builders as build

lib3mf = pytest.importorskip("lib3mf", reason="lib3mf is not installed")

SINGLE = 1e-4  # mm; lib3mf keeps 32-bit floats, parts are some 100 mm large
TURNED = [[0.0, 1.0, 0.0], [-1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [50.0, 60.0, 70.0]]


def _transform(rows: list[list[float]]) -> Any:
    made = lib3mf.Transform()
    for k, row in enumerate(rows):
        for axis, value in enumerate(row):
            made.Fields[k][axis] = value
    return made


def _identity() -> Any:
    return lib3mf.get_wrapper().GetIdentityTransform()


def _add(model: Any, mesh: TriangleMesh, name: str) -> Any:
    vertices, faces = mesh.indexed
    thing = model.AddMeshObject()
    thing.SetName(name)
    points, triangles = [], []
    for vertex in vertices.tolist():
        point = lib3mf.Position()
        for axis in range(3):
            point.Coordinates[axis] = vertex[axis]
        points.append(point)
    for face in faces.tolist():
        triangle = lib3mf.Triangle()
        for corner in range(3):
            triangle.Indices[corner] = face[corner]
        triangles.append(triangle)
    thing.SetGeometry(points, triangles)
    return thing


def _written(model: Any) -> bytes:
    return bytes(model.QueryWriter("3mf").WriteToBuffer())


def _as_lib3mf_sees(data: bytes) -> list[np.ndarray[Any, Any]]:
    """Corners of every build item of a file of meshes, transforms applied, by the library alone."""
    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromBuffer(data)
    items = model.GetBuildItems()
    found = []
    while items.MoveNext():
        item = items.GetCurrent()
        thing = model.GetMeshObjectByID(item.GetObjectResourceID())
        vertices = np.array([list(v.Coordinates) for v in thing.GetVertices()])
        faces = np.array([list(t.Indices) for t in thing.GetTriangleIndices()])
        rows = np.array([list(row) for row in item.GetObjectTransform().Fields])
        found.append(vertices[faces] @ rows[:3] + rows[3])
    return found


def test_meshes_written_by_the_library_are_read_with_unit_name_and_place() -> None:
    """Two objects in inches, one of them placed twice and turned."""
    model = lib3mf.get_wrapper().CreateModel()
    model.SetUnit(lib3mf.ModelUnit.Inch)
    wing, pod = build.aerofoil_slab(7, 8), build.cone(2, 3)
    first, second = _add(model, wing, "wing"), _add(model, pod, "pod")
    model.AddBuildItem(first, _identity())
    model.AddBuildItem(second, _transform(TURNED))
    model.AddBuildItem(second, _identity())
    found = read_threemf(_written(model), Limits())
    assert [(raw.label, raw.copies, raw.unit) for raw in found] == [("wing", 1, "inch"), ("pod", 2, "inch")]
    assert np.allclose(found[0].triangles, wing.triangles, atol=SINGLE)
    rows = np.array(TURNED)
    assert np.allclose(found[1].triangles, pod.triangles @ rows[:3] + rows[3], atol=SINGLE)


def test_components_written_by_the_library_are_put_in_place() -> None:
    """An object of two components, one mirrored: both where they belong, none inside out."""
    model = lib3mf.get_wrapper().CreateModel()
    part = build.aerofoil_slab(100, 50)
    thing = _add(model, part, "half")
    pair = model.AddComponentsObject()
    pair.SetName("pair")
    pair.AddComponent(thing, _identity())
    mirror = [[1.0, 0, 0], [0, 1.0, 0], [0, 0, -1.0], [0, 0, 0]]
    pair.AddComponent(thing, _transform(mirror))
    model.AddBuildItem(pair, _transform(TURNED))
    (found,) = read_threemf(_written(model), Limits())
    rows = np.array(TURNED)
    mirrored = part.triangles * np.array([1.0, 1.0, -1.0])
    expected = np.concatenate([part.triangles, mirrored[:, ::-1]]) @ rows[:3] + rows[3]
    assert np.allclose(found.triangles, expected, atol=SINGLE)
    assert volume(TriangleMesh(found.triangles)) == pytest.approx(2 * volume(part), rel=1e-5)


def test_an_assembly_written_by_the_library_is_its_parts_each_with_its_place() -> None:
    """A wing of three ribs and a spar in one object, half a metre long: two meshes, one three times."""
    model = lib3mf.get_wrapper().CreateModel()
    rib, spar = build.aerofoil_slab(100, 3), build.box(8, 8, 500)
    first, second = _add(model, rib, "rib"), _add(model, spar, "spar")
    ribs = model.AddComponentsObject()
    ribs.SetName("left wing")
    steps = [[[1.0, 0, 0], [0, 1.0, 0], [0, 0, 1.0], [0, 0, z]] for z in (0.0, 200.0)]
    for place in (*steps, [*TURNED[:3], [0.0, 0.0, 400.0]]):
        ribs.AddComponent(first, _transform(place))
    whole = model.AddComponentsObject()
    whole.SetName("airframe")
    whole.AddComponent(ribs, _identity())
    whole.AddComponent(second, _identity())
    model.AddBuildItem(whole, _transform(TURNED))
    found = read_threemf(_written(model), Limits())
    assert [(raw.label, raw.copies) for raw in found] == [("left wing rib", 3), ("spar", 1)]
    assert "4 parts, each with its place" in found[0].notes[0]
    rows = np.array(TURNED)
    assert np.allclose(found[0].triangles, rib.triangles @ rows[:3] + rows[3], atol=SINGLE)
    last = found[0].places(1.0)[-1]
    turn, shift = np.array(last[:9]).reshape(3, 3), np.array(last[9:])
    inner = rib.triangles @ rows[:3] + [0.0, 0.0, 400.0]
    assert np.allclose(found[0].triangles @ turn.T + shift, inner @ rows[:3] + rows[3], atol=SINGLE)


def test_transforms_mean_to_us_what_they_mean_to_the_library() -> None:
    """Items turned, stretched and shifted: our corners are the library's."""
    stretch = "2 0 0 0 1 0 0 0.5 3 -4 5 6"
    turned = "0 1 0 -1 0 0 0 0 1 50 60 70"
    data = build.threemf_bytes(
        build.threemf_object(1, build.box(10, 20, 30), "box")
        + build.threemf_object(2, build.tube(20, 10, 5)),
        f'<item objectid="1" transform="{turned}"/><item objectid="1" transform="{stretch}"/>'
        '<item objectid="2"/>',
    )
    theirs = _as_lib3mf_sees(data)
    ours = read_threemf(data, Limits())
    assert len(ours) == len(theirs) == 3
    for mine, other in zip(ours, theirs, strict=True):
        assert np.allclose(mine.triangles, other, atol=SINGLE)
