"""Doubts about meshes that are there twice say what to write."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.io.meshes import likeness
from planner.io.meshes.likeness import left_out, likeness_findings
from planner.io.meshes.limits import Limits
from planner.io.meshes.meshes import read_meshes
from planner.io.records.airframe_record import read_airframe
from planner.io.records.builtin import builtin_recipes
from planner.io.records.part_record import MeshHint
from planner.io.toml_file import parse_toml
from planner.model.finding import Finding
from tests.builders import box, extruded, joined, moved, stl_bytes


def test_a_mesh_that_is_there_twice_is_left_out_by_the_lines_that_are_told(tmp_path: Path) -> None:
    """The told lines, written as told, leave just that mesh out, whatever its name."""
    name = 'a "b" é.stl'
    for file in ("rib.stl", name):
        (tmp_path / file).write_bytes(stl_bytes(box(10, 20, 3)))
    folder = read_meshes([tmp_path], limits=Limits())
    said = likeness_findings(folder.meshes)
    assert len(said) == 1
    assert left_out(said[0].about) in said[0].text
    row = left_out(said[0].about).partition("with ")[2].partition(" in airframe.toml")[0]
    text = row.replace("[[part]] ", "[[part]]\n").replace(" copies = 0", "\ncopies = 0\n")
    hints = [MeshHint(record.name) for record in folder.meshes]
    parts = read_airframe(
        parse_toml(text, "airframe.toml"), hints, builtin_recipes(), "EUR", name="x"
    ).airframe.parts
    assert {part.mesh: part.copies for part in parts}[said[0].about] == 0
    assert sum(part.copies for part in parts) == 1


def told(tmp_path: Path, **meshes: TriangleMesh) -> list[Finding]:
    """What is said of meshes of these names."""
    for name, mesh in meshes.items():
        (tmp_path / f"{name}.stl").write_bytes(stl_bytes(mesh))
    return list(likeness_findings(read_meshes([tmp_path], limits=Limits()).meshes))


def plate() -> TriangleMesh:
    """A plate that is not its own mirror image."""
    outline = np.array([[0.0, 0.0], [40.0, 0.0], [31.0, 9.0], [0.0, 17.0]])
    return joined(extruded(outline, 6.0), moved(box(5.0, 7.0, 9.0), 2.0, 3.0, 6.0))


def turned(mesh: TriangleMesh, *, mirrored: bool = False) -> TriangleMesh:
    """A quarter turn about x, an odd one about z, a shift, and perhaps a mirror."""
    c, s = np.cos(0.7), np.sin(0.7)
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    turn = turn @ np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    corners = mesh.triangles * np.array([-1.0, 1.0, 1.0]) if mirrored else mesh.triangles
    return TriangleMesh((corners[:, ::-1] if mirrored else corners) @ turn.T + np.array([7.0, -30.0, 11.0]))


def test_a_turned_copy_is_known(tmp_path: Path) -> None:
    """However it lies."""
    found = told(tmp_path, bracket=plate(), holder=turned(plate()))
    assert [(one.about, one.weight) for one in found] == [("holder.stl", "doubt")]
    assert found[0].text.startswith("The same shape as bracket.stl, turned.")


def test_a_mirror_image_is_told_as_the_other_hand(tmp_path: Path) -> None:
    """Not as a copy: it is needed; and where the names say hands, nothing is said."""
    found = told(tmp_path, bracket=plate(), holder=turned(plate(), mirrored=True))
    assert [(one.about, one.weight) for one in found] == [("holder.stl", "note")]
    assert "mirror image of bracket.stl" in found[0].text
    for file in tmp_path.iterdir():
        file.unlink()
    assert told(tmp_path, clip_left=plate(), clip_right=turned(plate(), mirrored=True)) == []


def test_a_hand_that_is_there_twice_is_doubted(tmp_path: Path) -> None:
    """Two files named left and right of one and the same hand; what is symmetric may be both."""
    found = told(tmp_path, clip_left=plate(), clip_right=turned(plate()))
    assert [one.about for one in found] == ["clip_right.stl"]
    assert "the same hand again" in found[0].text
    for file in tmp_path.iterdir():
        file.unlink()
    assert told(tmp_path, pad_left=box(9, 5, 2), pad_right=box(9, 5, 2)) == []


def test_only_meshes_of_as_many_facets_are_compared(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Twenty prisms of three to twenty-two sides: no pair of them is looked at; the copy of one is found."""
    for sides in range(3, 23):
        turn = 2.0 * np.pi * np.arange(sides) / sides
        ring = np.column_stack((20.0 * np.cos(turn), 20.0 * np.sin(turn)))
        (tmp_path / f"prism_{sides:02d}.stl").write_bytes(stl_bytes(extruded(ring, 5.0 + sides)))
    (tmp_path / "the other.stl").write_bytes((tmp_path / "prism_07.stl").read_bytes())
    records = read_meshes([tmp_path], limits=Limits()).meshes
    pairs: list[tuple[str, str]] = []
    alike = likeness._alike
    monkeypatch.setattr(likeness, "_alike", lambda a, b: pairs.append((a.name, b.name)) or alike(a, b))
    (doubt,) = likeness_findings(records)
    assert (doubt.about, doubt.others) == ("the other.stl", ("prism_07.stl",))
    assert pairs == [("the other.stl", "prism_07.stl")]
