"""Doubts about meshes that are there twice say what to write."""

from __future__ import annotations

from pathlib import Path

from planner.files.airframe_record import read_airframe
from planner.files.builtin import builtin_recipes
from planner.files.likeness import left_out, likeness_findings
from planner.files.limits import Limits
from planner.files.meshes import read_meshes
from planner.files.part_record import MeshHint
from planner.files.toml_file import parse_toml
from tests.builders import box, stl_bytes


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
