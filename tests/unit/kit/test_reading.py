"""A raw kit read: proposals by mesh."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import InputError
from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.proposal import Proposal
from planner.kit.reading import KitMesh, read_kit, sections_in_order
from planner.kit.stacks import RawKit
from planner.kit.summary import kit_lines
from tests.builders import box, tube

BLOCK = box(60.0, 30.0, 20.0)


def proposals(*meshes: KitMesh) -> dict[tuple[str, str], object]:
    return {(one.mesh, one.key): one.value for one in read_kit(meshes) if one.sure}


def test_wing_parts_belong_to_the_wing_of_their_hand() -> None:
    found = proposals(
        KitMesh("wing_mid_L.stl", BLOCK, "left", mirror=True),
        KitMesh("wing_tip_R.stl", BLOCK, "right"),
        KitMesh("stab_L.stl", BLOCK, "left", mirror=True),
        KitMesh("wing joiner.stl", BLOCK),
    )
    assert found == {
        ("wing_mid_L.stl", "section"): "left wing",
        ("wing_mid_L.stl", "other_section"): "right wing",
        ("wing_tip_R.stl", "section"): "right wing",
        ("stab_L.stl", "section"): "tail",
        ("wing joiner.stl", "section"): "wing",
    }


def test_sections_come_in_the_order_in_which_they_are_glued() -> None:
    names = ("fin.stl", "wing.stl", "hull.stl")
    assert sections_in_order(read_kit([KitMesh(name, BLOCK) for name in names])) == (
        "fuselage",
        "wing",
        "tail",
    )


def test_a_mesh_drawn_as_one_wall_is_a_skin_and_a_thick_or_small_one_is_none() -> None:
    # Mean wall = 2 V / A (geometry); a tube of wall t: within t / length of t.
    thin, thick = tube(60.0, 59.0, 120.0), tube(60.0, 52.0, 120.0)
    small = TriangleMesh(np.asarray(thin.triangles) * np.array([0.3, 0.3, 0.3]))
    found = proposals(KitMesh("a.stl", thin), KitMesh("b.stl", thick), KitMesh("c.stl", small))
    assert found == {("a.stl", "recipe"): "skin"}
    reason = next(one.reason for one in read_kit([KitMesh("a.stl", thin)]))
    assert "0.50 mm" in reason


def test_kinds_choose_recipe_and_filament() -> None:
    found = proposals(
        KitMesh("motor mount.stl", BLOCK), KitMesh("fin foam.stl", BLOCK), KitMesh("skid_TPU.stl", BLOCK)
    )
    assert found == {
        ("motor mount.stl", "recipe"): "motor mount",
        ("motor mount.stl", "near_motor"): True,
        ("fin foam.stl", "section"): "tail",
        ("fin foam.stl", "recipe"): "foamed skin",
        ("fin foam.stl", "filament"): "foaming PLA",
        ("skid_TPU.stl", "filament"): "TPU",
    }
    asked = [one for one in read_kit([KitMesh("hinge.stl", BLOCK)]) if not one.sure]
    assert [(one.key, one.value) for one in asked] == [("filament", "TPU")]


def test_what_does_not_fly_is_left_out_or_asked() -> None:
    meshes = [KitMesh(name, BLOCK) for name in ("test cube.stl", "wing jig.stl", "tray.stl", "tray_v2.stl")]
    out = {one.mesh: one.sure for one in read_kit(meshes) if one.key == "copies"}
    assert out == {"test cube.stl": True, "wing jig.stl": False, "tray.stl": True}
    other = read_kit([KitMesh("all.stl", BLOCK)], {"all.stl": ("it is the whole", 0.9)})
    assert [(one.key, one.value, one.reason) for one in other] == [("copies", 0, "it is the whole")]


def test_what_is_left_out_is_no_choice_of_an_option() -> None:
    meshes = [KitMesh(name, BLOCK) for name in ("nose camera.stl", "nose plain.stl", "nose plain old.stl")]
    options = {one.mesh for one in read_kit(meshes) if one.key == "option"}
    assert options == {"nose camera.stl", "nose plain.stl"}


def test_order_of_files_and_case_of_names_change_nothing() -> None:
    names = ["Wing_L.stl", "wing_R.stl", "nose camera.stl", "NOSE plain.stl", "tray.stl", "tray_v2.stl"]
    one = {
        (p.mesh.casefold(), p.key, p.value, p.confidence)
        for p in read_kit([KitMesh(n, BLOCK) for n in names])
    }
    other = [KitMesh(name.upper(), BLOCK) for name in reversed(names)]
    assert one == {(p.mesh.casefold(), p.key, p.value, p.confidence) for p in read_kit(other)}


def test_the_summary_counts_sections_options_and_questions() -> None:
    names = ("wing", "fin", "nose camera", "nose plain", "test cube", "wing jig", "x")
    found = read_kit([KitMesh(f"{name}.stl", BLOCK) for name in names])
    assert kit_lines(RawKit(found), len(names)) == (
        "7 meshes: 2 fuselage, 2 wing, 1 tail, 2 of no section",
        "option nose: camera, plain",
        "left out (copies = 0): test cube.stl",
        '1 question, marked "not sure" in airframe.toml',
    )


@pytest.mark.parametrize(("reason", "confidence"), [("", 0.5), ("why", 1.5), ("why", -0.1)])
def test_a_proposal_has_a_reason_and_a_confidence(reason: str, confidence: float) -> None:
    with pytest.raises(InputError):
        Proposal("a.stl", "section", "wing", reason, confidence)
