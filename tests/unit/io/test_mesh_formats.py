"""The list of mesh formats: what is built in, and what another package adds."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from pathlib import Path, PurePosixPath

import numpy as np
import pytest
import trimesh

from planner.errors import MeshError
from planner.io.meshes import mesh_formats
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_file, read_meshes
from planner.io.meshes.name_habits import suggest
from planner.plug_ins import MESH_FORMATS, added, every
from planner.web.routes.drop import _wanted
from tests.builders import box, stl_bytes, tube

PLY_QUADS = """ply
format ascii 1.0
element vertex 8
property float x
property float y
property float z
element face 6
property list uchar int vertex_indices
end_header
0 0 0
30 0 0
30 20 0
0 20 0
0 0 10
30 0 10
30 20 10
0 20 10
4 0 3 2 1
4 4 5 6 7
4 0 1 5 4
4 1 2 6 5
4 2 3 7 6
4 3 0 4 7
"""
HOW_TO = Path(__file__).parents[3] / "docs" / "howto_format.md"


@pytest.fixture(name="plugged")
def _plugged(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The package of the how-to, which reads .tri files; another, for .bad files, that does not load."""
    how_to = HOW_TO.read_text(encoding="utf-8")
    program = re.findall(r"```python\n# tri_reader.py\n(.*?)```", how_to, flags=re.DOTALL)[0]
    named = tomllib.loads(re.findall(r"```toml\n(.*?)```", how_to, flags=re.DOTALL)[0])
    entries = named["project"]["entry-points"][MESH_FORMATS]
    entries |= {"bad": "no_such_reader:BAD", "stl": entries["tri"]}
    site = tmp_path / "site"
    (site / "tri_reader-1.0.dist-info").mkdir(parents=True)
    (site / "tri_reader.py").write_text(program, encoding="utf-8")
    about = "Metadata-Version: 2.1\nName: tri-reader\nVersion: 1.0\n"
    (site / "tri_reader-1.0.dist-info" / "METADATA").write_text(about)
    (site / "tri_reader-1.0.dist-info" / "entry_points.txt").write_text(
        f"[{MESH_FORMATS}]\n" + "".join(f"{ending} = {value}\n" for ending, value in entries.items())
    )
    monkeypatch.syspath_prepend(str(site))
    _forget()
    yield tmp_path
    _forget()


def _forget() -> None:
    added.cache_clear()
    every.cache_clear()
    mesh_formats._known.cache_clear()


def test_ply_with_quads_becomes_triangles() -> None:
    """Twelve of them, closed, with the volume of the box; no unit is declared."""
    (raw,) = read_file(PLY_QUADS.encode(), ".PLY", Limits())
    assert raw.unit is None
    made = trimesh.Trimesh(raw.triangles.reshape(-1, 3), np.arange(36).reshape(-1, 3))
    made.merge_vertices()
    assert made.is_watertight
    assert made.volume == pytest.approx(6000.0)


@pytest.mark.slow
def test_off_is_read_as_trimesh_writes_it() -> None:
    """The same triangles in the same order."""
    mesh = tube(50.0, 47.0, 80.0)
    text = mesh.to_trimesh().export(file_type="off", digits=12)
    (raw,) = read_file(text.encode(), ".off", Limits())
    assert np.allclose(raw.triangles, mesh.triangles, atol=1e-9)


def test_glb_is_in_metres_with_y_up_and_names_its_objects() -> None:
    """Two objects, one of them placed twice: 30 mm tall in z after reading."""
    tall = trimesh.creation.box((0.010, 0.030, 0.020))  # y up, metres
    scene = trimesh.Scene()
    scene.add_geometry(tall, geom_name="post", node_name="a")
    scene.graph.update(
        frame_to="b", geometry="post", matrix=trimesh.transformations.translation_matrix([1, 0, 0])
    )
    scene.add_geometry(trimesh.creation.icosphere(radius=0.01), geom_name="ball", node_name="c")
    raws = {raw.label: raw for raw in read_file(scene.export(file_type="glb"), ".glb", Limits())}
    assert set(raws) == {"post", "ball"}
    assert (raws["post"].copies, raws["ball"].copies) == (2, 1)
    corners = raws["post"].scaled(1000.0).reshape(-1, 3)
    assert corners.max(axis=0) - corners.min(axis=0) == pytest.approx([10.0, 20.0, 30.0], abs=1e-4)
    assert raws["post"].unit == "meter"
    sides = raws["post"].triangles.astype(float)
    signed = np.einsum("ij,ij->i", sides[:, 0], np.cross(sides[:, 1], sides[:, 2])).sum() / 6.0
    assert signed == pytest.approx(0.010 * 0.030 * 0.020, rel=1e-5)  # not turned inside out


@pytest.mark.slow
def test_what_is_none_of_its_kind_is_told() -> None:
    """Damage, points without faces, and too many triangles; each in words."""
    with pytest.raises(MeshError, match="no GLB file, or damaged"):
        read_file(b"glTF\x02\0\0\0 nothing", ".glb", Limits())
    cloud = PLY_QUADS.replace("element face 6\nproperty list uchar int vertex_indices\n", "")
    cloud = "\n".join(cloud.splitlines()[: 7 + 8]) + "\n"
    with pytest.raises(MeshError, match="PLY file holds no triangle"):
        read_file(cloud.encode(), ".ply", Limits())
    with pytest.raises(MeshError, match="12"):
        read_file(PLY_QUADS.encode(), ".ply", Limits(triangles=11))


def test_a_format_has_a_limit_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    """Said with its name, before anything is read."""
    small = mesh_formats.MeshFormat("STL", (".stl",), mesh_formats.BUILT_IN[0].read, file_bytes=100)
    monkeypatch.setattr("planner.io.meshes.meshes.format_of", lambda _: small)
    with pytest.raises(MeshError, match="limit of STL is 100"):
        read_file(stl_bytes(box(1.0, 1.0, 1.0)), ".stl", Limits())


def test_another_package_adds_a_format(plugged: Path) -> None:
    """Its files are planned like all others; what it cannot read or load is set aside, nothing falls over."""
    kit = plugged / "kit"
    kit.mkdir()
    rows = box(30.0, 20.0, 10.0).triangles.reshape(-1, 9)
    text = "\n".join(" ".join(f"{value:g}" for value in row) for row in rows)
    (kit / "block x3.tri").write_text(text, encoding="utf-8")
    (kit / "broken.tri").write_text("1 2 three", encoding="utf-8")
    (kit / "lost.bad").write_bytes(b"x")
    (kit / "plain.stl").write_bytes(stl_bytes(box(5.0, 5.0, 5.0)))
    found = read_meshes(kit, limits=Limits())
    assert [record.name for record in found.meshes] == ["block x3.tri", "plain.stl"]
    assert found.meshes[0].mesh.extents == pytest.approx([30.0, 20.0, 10.0])
    assert found.meshes[0].suggestion.copies == 3
    reasons = {aside.mesh: aside.reason for aside in found.set_aside}
    assert "the reader of TRI files failed (ValueError" in reasons["broken.tri"]
    assert "the reader of .bad files cannot be loaded" in reasons["lost.bad"]
    assert mesh_formats.formats_told() == "STL, 3MF, OBJ, STEP, PLY, OFF, GLB, BAD or TRI"


def test_the_faces_ask_the_list(plugged: Path) -> None:
    """Names of files, and what the page takes in a drop, know a format that was added."""
    del plugged
    assert suggest(["rib_L x2.tri"])[0].hand == "left"
    assert _wanted(PurePosixPath("kit/rib.tri"))
    assert not _wanted(PurePosixPath("kit/rib.xyz"))
