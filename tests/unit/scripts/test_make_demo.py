"""The demo meshes are what their script makes, and their records fit them."""

from __future__ import annotations

import io
import sys
import tomllib
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import trimesh

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import Pose

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "demo_meshes"
sys.path.insert(0, str(ROOT / "scripts"))
pytest.importorskip("manifold3d", reason="the script that makes the demo meshes needs manifold3d")
make_demo = pytest.importorskip("make_demo")
NAMES = sorted(make_demo.CATALOGUE)

SAME_MM = 2e-3  # another machine may round the last digit of a sine differently
SAME_VOLUME = 1e-4  # relative
MOST_BYTES = 12_000_000
SQUARE_MM, CLEAR_MM = 220.0 - 2 * 4.0, 250.0  # the smaller printer


def bodies_in(name: str, data: bytes) -> dict[str, Any]:
    """What an outside reader finds in a file, by object name."""
    if name.endswith(".3mf"):
        return dict(trimesh.load_scene(io.BytesIO(data), file_type="3mf").geometry)
    kind = name.rsplit(".", 1)[1].lower()
    return {"": trimesh.load_mesh(io.BytesIO(data), file_type=kind)}


@pytest.mark.parametrize("name", ["wing_tip_R.STL", "hatch_latch.3mf", "horn_x4.stl", "aerial_mount.obj"])
def test_same_bytes_twice(name: str) -> None:
    """Making a file twice gives the same bytes."""
    assert make_demo.make(name)[0] == make_demo.make(name)[0]


@pytest.mark.parametrize("name", NAMES)
def test_committed_file_is_what_the_script_makes(name: str) -> None:
    """The file in the folder equals the script's, to the byte or at least in size and volume."""
    kept = (DEMO / name).read_bytes()
    made, _ = make_demo.make(name)
    if kept != made:
        ours, theirs = bodies_in(name, kept), bodies_in(name, made)
        assert ours.keys() == theirs.keys()
        for label, mesh in ours.items():
            np.testing.assert_allclose(mesh.bounds, theirs[label].bounds, atol=SAME_MM)
            assert mesh.volume == pytest.approx(theirs[label].volume, rel=SAME_VOLUME)


@pytest.mark.parametrize("name", NAMES)
def test_every_body_is_one_closed_solid_that_fits(name: str) -> None:
    """An outside reader finds each body closed, outward, in one part, and small enough for the beds."""
    for mesh in bodies_in(name, (DEMO / name).read_bytes()).values():
        assert mesh.is_watertight
        assert mesh.is_winding_consistent
        assert mesh.volume > 0.0
        assert mesh.body_count == 1
        size = TriangleMesh(np.asarray(mesh.triangles)).extents
        assert max(size[:2]) <= SQUARE_MM
        assert size[2] <= CLEAR_MM


def test_folder_holds_the_catalogue_and_no_more() -> None:
    """No stray mesh, none missing, and the folder stays small."""
    kept = {path.name for path in DEMO.iterdir() if path.suffix.lower() in (".stl", ".obj", ".3mf")}
    assert kept == set(NAMES)
    assert sum((DEMO / name).stat().st_size for name in kept) < MOST_BYTES


def test_package_names_its_objects_and_unit() -> None:
    """The 3MF holds its model in millimetres with a build item for each object."""
    with zipfile.ZipFile(DEMO / "hatch_latch.3mf") as package:
        assert package.testzip() is None
        model = package.read("3D/3dmodel.model").decode("utf-8")
    assert 'unit="millimeter"' in model
    assert model.count("<object ") == model.count("<item ") == 2


def test_three_mf_is_read_by_the_consortium_library() -> None:
    """The 3MF Consortium's own reader finds two valid objects and warns of nothing."""
    lib3mf = pytest.importorskip("lib3mf")
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(DEMO / "hatch_latch.3mf"))
    assert reader.GetWarningCount() == 0
    found = model.GetMeshObjects()
    names = []
    while found.MoveNext():
        item = found.GetCurrentMeshObject()
        assert item.IsManifoldAndOriented()
        names.append(item.GetName())
    assert names == ["latch body", "latch tongue"]


def record() -> dict[str, Any]:
    """The airframe's record as plain values."""
    return tomllib.loads((DEMO / "airframe.toml").read_text(encoding="utf-8"))


@pytest.mark.parametrize(("nose", "pieces"), [("camera", 55), ("plain", 54)])
def test_record_names_every_mesh(nose: str, pieces: int) -> None:
    """Every mesh belongs to a part, every part to a mesh, and each option gives 40 to 60 pieces."""
    parts = record()["part"]
    objects = {"hatch_latch.3mf#latch body", "hatch_latch.3mf#latch tongue"}
    meshes = {name for name in NAMES if name != "hatch_latch.3mf"} | objects
    assert {part["mesh"] for part in parts} == meshes
    chosen = [part for part in parts if part.get("option", {"nose": nose}) == {"nose": nose}]
    assert sum(part.get("copies", 1) * (2 if part.get("mirror") else 1) for part in chosen) == pieces


def test_record_refers_to_what_it_defines() -> None:
    """Recipes, stacks and sections that parts name are there; poses are rotations."""
    data = record()
    stacks = {stack["name"] for stack in data["stack"]}
    for part in data["part"]:
        assert part.get("recipe", data["defaults"]["recipe"]) in data["recipe"]
        assert ("stack" in part) != ("station_mm" in part)
        assert part.get("stack", {"name": "hull"})["name"] in stacks
        assert part.get("section", data["defaults"]["section"]) in data["airframe"]["sections"]
        Pose(tuple(part.get("pose", Pose().rotation)))
