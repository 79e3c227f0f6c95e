"""A mesh that is drawn in another unit than its folder: doubted, told by a row, read by it."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner import api
from planner.errors import RecordError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes.limits import Limits
from planner.io.meshes.mesh_folder import MeshFolder
from planner.io.meshes.meshes import read_meshes
from planner.io.meshes.own_units import own_units
from planner.io.records.airframe_record import read_airframe
from planner.io.records.builtin import builtin_recipes
from planner.io.records.part_record import MeshHint
from planner.io.toml_file import parse_toml
from planner.units import LENGTH_MM
from tests.builders import box, hollow_aerofoil_slab, scaled, stl_bytes, tube

WING = hollow_aerofoil_slab(150.0, 180.0, wall=1.2)
FAMILY = {"wing": WING, "spar": box(8, 6, 220), "pod": tube(60, 57, 140), "tail": box(90, 4, 60)}


def folder(path: Path, rows: str = "", **meshes: TriangleMesh) -> MeshFolder:
    for name, mesh in {**FAMILY, **meshes}.items():
        (path / f"{name}.stl").write_bytes(stl_bytes(mesh))
    return read_meshes(path, limits=Limits(), own=own_units(parse_toml(rows, "airframe.toml")))


def doubts(read: MeshFolder) -> dict[str, str]:
    return {finding.about: finding.text for finding in read.findings if "under its [[part]]" in finding.text}


@pytest.mark.parametrize(("unit", "short"), [("inch", "inch"), ("centimeter", "cm")])
def test_a_copy_that_is_smaller_by_a_unit_is_doubted(tmp_path: Path, unit: str, short: str) -> None:
    """The same wing, exported in another unit."""
    told = doubts(folder(tmp_path, again=scaled(WING, 1.0 / LENGTH_MM[unit])))
    assert list(told) == ["again.stl"]
    assert "just as large as wing.stl" in told["again.stl"]
    assert f'unit = "{short}"' in told["again.stl"]


def test_a_mesh_with_the_joint_face_of_another_is_doubted(tmp_path: Path) -> None:
    """A wing piece of another span in inches: its root face is that of the millimetre piece."""
    piece = scaled(hollow_aerofoil_slab(150.0, 131.0, wall=1.2), 1.0 / 25.4)
    told = doubts(folder(tmp_path, outer=piece))
    assert list(told) == ["outer.stl"]
    assert "two sides as long as those of wing.stl" in told["outer.stl"]
    assert 'unit = "inch"' in told["outer.stl"]


def test_walls_that_no_machine_prints_are_doubted(tmp_path: Path) -> None:
    """A tube of 0.06 mm wall would be 1.5 mm in inches, and as long as the others."""
    told = doubts(folder(tmp_path, boom=scaled(tube(33, 30, 171), 1.0 / 25.4)))
    assert list(told) == ["boom.stl"]
    assert "1.5 mm instead of 0.06 mm" in told["boom.stl"]


def test_small_parts_are_no_inch_files(tmp_path: Path) -> None:
    """Clips, pins, washers and horns of 3 to 14 mm with walls that print."""
    small = {
        "clip": box(12, 4, 2.4),
        "pin": box(3, 3, 9),
        "washer": tube(8, 4, 1.2),
        "horn": box(14, 5, 1.6),
        "bush": tube(6, 4, 5),
    }
    assert doubts(folder(tmp_path, **small)) == {}


def test_without_a_family_nothing_is_doubted(tmp_path: Path) -> None:
    """Two small meshes alone may be small."""
    for name in ("a", "b"):
        (tmp_path / f"{name}.stl").write_bytes(stl_bytes(tube(3, 2.9, 9)))
    assert doubts(read_meshes(tmp_path, limits=Limits(), unit="mm")) == {}


@pytest.mark.parametrize("row", ['unit = "inch"', "scale = 25.4"])
def test_a_row_says_it_and_the_mesh_is_read_by_it(tmp_path: Path, row: str) -> None:
    """By unit or by factor: the mesh has its size, and nobody doubts it."""
    rows = f'[[part]]\nmesh = "again.stl"\n{row}\n'
    read = folder(tmp_path, rows, again=scaled(WING, 1.0 / 25.4))
    sizes = {record.name: record.mesh.extents for record in read.meshes}
    assert sizes["again.stl"] == pytest.approx(sizes["wing.stl"], rel=1e-5)
    assert doubts(read) == {}


def test_rows_of_their_own_come_before_patterns(tmp_path: Path) -> None:
    """A pattern in inches does not reach a mesh that has a row, nor does a later pattern."""
    rows = (
        '[[part]]\nmesh = "*.stl"\nscale = 2.0\n[[part]]\nmesh = "wing.stl"\n'
        '[[part]]\nmesh = "*"\nscale = 7.0\n'
    )
    sizes = {record.name: record.mesh.extents[2] for record in folder(tmp_path, rows).meshes}
    assert sizes["wing.stl"] == pytest.approx(180.0)
    assert sizes["spar.stl"] == pytest.approx(440.0)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ('unit = "furlong"', "the unit 'furlong' is not known"),
        ('unit = "inch"\nscale = 2', "both unit and scale"),
        ("scale = 0", "scale = 0 must lie between"),
        ("scale = -1", "scale = -1 must lie between"),
        ("scale = true", "must be a number"),
        ("scale = nan", "must lie between"),
        (
            'scale = 2\n[[part]]\nmesh = "a.stl"\nname = "b"\nscale = 3',
            "another unit or scale than a row before",
        ),
    ],
)
def test_wrong_lengths_are_refused(row: str, said: str) -> None:
    """With line and key; the early reading does not stumble over them."""
    file = parse_toml(f'[[part]]\nmesh = "a.stl"\n{row}\n', "airframe.toml")
    assert len(own_units(file)) >= 1
    with pytest.raises(RecordError, match=said) as caught:
        read_airframe(file, (MeshHint("a.stl"),), builtin_recipes(), "EUR", name="x")
    assert "airframe.toml, line" in str(caught.value)


def test_a_draft_proposes_the_unit(tmp_path: Path) -> None:
    """As a line to be uncommented; then the mesh has its size."""
    folder(tmp_path, again=scaled(WING, 1.0 / 25.4))
    api.draft_files(tmp_path)
    draft = (tmp_path / "airframe.toml").read_text(encoding="utf-8")
    assert '# unit = "inch"  # It is 7.09 mm long' in draft
    (tmp_path / "airframe.toml").write_text(draft.replace("# unit", "unit"), encoding="utf-8")
    sizes = {record.name: record.mesh.extents[2] for record in api.mesh_folder(tmp_path).meshes}
    assert sizes["again.stl"] == pytest.approx(180.0, rel=1e-5)
