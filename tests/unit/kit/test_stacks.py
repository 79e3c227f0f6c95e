"""Stacks of raw kits, against what their generator knows."""

from __future__ import annotations

from pathlib import Path

import manifold3d
import pytest

from planner.api import PlanRequest, draft_files, mesh_folder, read_job
from planner.api.looking import kit_of
from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.proposal import Proposal
from planner.kit.questions import questions_of
from planner.kit.reading import KitMesh
from planner.kit.stacks import read_stacks
from tests.builders import aerofoil
from tests.kits import shapes
from tests.kits.raw import STYLES, raw_kit, write
from tests.unit.api.test_raw_kits import NOW


def panels(x: float = 0.0, *, nose_aft: bool = False) -> dict[str, TriangleMesh]:
    found, chord = {}, 160.0
    for name in ("wing 1", "wing 2"):
        outline = manifold3d.CrossSection([aerofoil(chord, 0.12, 40).tolist()])
        solid = outline.extrude(90.0, 4, 0.0, (0.9, 0.9)).translate((x, 0.0, 0.0))
        found[name] = shapes.mesh_of(solid.mirror((1.0, 0.0, 0.0)) if nose_aft else solid)
        chord *= 0.9
    return found


def read(meshes: dict[str, TriangleMesh], section: str = "wing"):
    said = [Proposal(name, "section", section, "named", 0.9) for name in meshes]
    return read_stacks([KitMesh(name, mesh) for name, mesh in meshes.items()], said)


def test_a_wing_starts_where_its_leading_edge_lies_on_the_datum() -> None:
    places, (row,) = read(panels(12.5))
    assert (row.name, row.direction, row.sure) == ("wing", "across", True)
    assert row.start_mm == pytest.approx(-12.5, abs=0.05)  # the mesh is drawn 12.5 mm aft of it
    assert [(one.mesh, one.value, one.sure) for one in places] == [
        ("wing 1", ("wing", 0), True),
        ("wing 2", ("wing", 1), True),
    ]


def test_a_wing_that_runs_the_other_way_and_a_fuselage_are_asked() -> None:
    for meshes, section, direction in (
        (panels(nose_aft=True), "wing", "across"),
        (panels(), "fuselage", "aft"),
    ):
        places, (row,) = read(meshes, section)
        assert (row.direction, row.start_mm, row.sure) == (direction, None, False)
        assert [one.sure for one in places] == [False, False]


def test_what_is_left_out_is_in_no_stack() -> None:
    meshes = panels()
    out = [Proposal(name, "section", "wing", "named", 0.9) for name in meshes]
    out.append(Proposal("wing 2", "copies", 0, "a trial piece", 0.9))
    assert read_stacks([KitMesh(name, mesh) for name, mesh in meshes.items()], out) == ((), ())


@pytest.mark.parametrize(
    "seed", [pytest.param(seed, marks=pytest.mark.slow if seed % 3 else ()) for seed in range(len(STYLES))]
)
def test_raw_kits_in_every_language_are_read_as_they_were_made(tmp_path: Path, seed: int) -> None:
    """Sections, what is not printed, options and stacks of a kit whose truth is known; few questions."""
    kit = raw_kit(seed, STYLES[seed])
    folder = write(kit, tmp_path / "kit")
    found = kit_of(mesh_folder(folder))
    said = {(one.mesh, one.key): one.value for one in found.proposals if one.sure or one.key == "stack"}
    for part in kit:
        assert (said.get((part.file, "copies")) == 0) == part.unwanted, part.file
        if part.section:
            assert said[part.file, "section"] == part.section, part.file
        option, stack = said.get((part.file, "option")), said.get((part.file, "stack"))
        assert (option[1] if isinstance(option, tuple) else None) == part.choice, part.file
        assert (stack[1] if isinstance(stack, tuple) else None) == part.order, part.file
    assert len(questions_of(found)) <= len(kit) / 5.0


def test_a_drafted_stack_is_read_as_it_was_found(tmp_path: Path) -> None:
    """The draft alone puts every panel into its place; nobody had to write a line."""
    kit = raw_kit(0, "en")
    folder = write(kit, tmp_path / "kit")
    draft_files(folder)
    airframe = read_job(PlanRequest((folder,)), NOW).airframe
    (stack,) = airframe.stacks
    assert (stack.name, stack.direction) == ("wing", "across")
    assert stack.start_mm == pytest.approx(0.0, abs=0.05)
    placed = {part.mesh: part.stack.order for part in airframe.parts if part.stack is not None}
    panels = (part for part in kit if part.section.endswith(" wing") and part.order is not None)
    assert placed == {part.file: part.order for part in panels}
