"""Two airframes in one folder are told; one is not."""

from __future__ import annotations

import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.airframes import AIRFRAME, hulls_of, in_folders, several_airframes, split, split_note
from planner.kit.by_shape import read_shapes
from planner.kit.ends import look
from planner.kit.reading import KitMesh
from planner.kit.stacks import RawKit
from planner.kit.summary import kit_lines
from tests.builders import aerofoil_slab, frustum
from tests.kits.glider import glider, laid_out
from tests.kits.loose import loose_kit

HULL = {"h1": frustum(60.0, 70.0, 90.0, n=20), "h2": frustum(70.0, 50.0, 90.0, n=20)}
BOOM = {"b1": frustum(40.0, 36.0, 90.0, n=20), "b2": frustum(36.0, 30.0, 90.0, n=20)}
SLAB = aerofoil_slab(150.0, 110.0, tip_chord=130.0, n=20)


def test_two_kits_in_one_folder_are_told_with_a_way_out() -> None:
    kits = (*loose_kit(1, "digests", "bed"), *loose_kit(2, "numbers", "bed"))
    reading = read_shapes([KitMesh(part.file, part.mesh) for part in kits], ())
    (note,) = reading.notes
    assert note.startswith("parts of 2 airframes may lie in this folder: 2 hulls never fit each other")
    assert note.endswith("give each airframe a folder of its own")
    assert note in kit_lines(RawKit(reading.proposals, (), reading.rows, reading.notes), len(kits))


@pytest.mark.parametrize("seed", [0, pytest.param(3, marks=pytest.mark.slow)])
def test_one_kit_is_one_airframe(seed: int) -> None:
    kit = loose_kit(seed, "numbers", "any")
    assert read_shapes([KitMesh(part.file, part.mesh) for part in kit], ()).notes == ()


def test_booms_beside_a_pod_are_no_second_airframe() -> None:
    meshes = {**HULL, **BOOM, "w1": SLAB, "w2": SLAB, "t1": SLAB, "t2": SLAB}
    parts = look(sorted(meshes), meshes)
    hulls = [["h1", "h2"], ["b1", "b2"]]
    assert several_airframes(parts, [*hulls, ["w1", "w2"], ["t1", "t2"]]) == ()
    assert several_airframes(parts, [*hulls, *[["w1", "w2"]] * 4])
    # one pipe twice is no hull of two lengths
    assert several_airframes(parts, [["h1", "h2"], ["b1", "b1"], *[["w1", "w2"]] * 4]) == ()


def two_gliders() -> dict[str, TriangleMesh]:
    """One with two noses, and a larger one."""
    small, _ = laid_out(glider())
    large, _ = laid_out({name: solid.scale((1.3, 1.3, 1.3)) for name, solid in glider().items()}, seed=9)
    noses = {f"nose {k}": frustum(60.0, 24.0, 40.0 + 20.0 * k, n=36) for k in range(2)}
    return {**small, **noses, **{f"large {name}": mesh for name, mesh in large.items()}}


def test_airframes_that_mate_are_choices_of_which_one_is_built() -> None:
    """Every part that belongs to one of them; of two noses the other one is asked to be left out."""
    meshes = two_gliders()
    reading = read_shapes([KitMesh(name, mesh) for name, mesh in meshes.items()], ())
    assert reading.notes[0].startswith("parts of 2 airframes lie in this folder: ")
    assert "by the option airframe" in reading.notes[0]
    options = {one.mesh: one.value for one in reading.proposals if one.key == "option"}
    assert set(options) == set(meshes)
    by_choice = {value: {name for name in options if options[name] == value} for value in options.values()}
    assert {frozenset(own) for own in by_choice.values()} == {
        frozenset(name for name in meshes if name.startswith("large") is large) for large in (True, False)
    }
    assert all(isinstance(value, tuple) and value[0] == AIRFRAME for value in by_choice)
    assert {one.mesh for one in reading.proposals if one.key == "seat" and one.sure} == set(meshes)
    assert [(one.mesh, one.sure) for one in reading.proposals if one.key == "copies"] == [("nose 1", False)]


def test_hulls_in_folders_of_their_own_divide_what_lies_there() -> None:
    hulls = [["a/h1", "a/h2"], ["b/h1", "b/h2"]]
    groups = split(hulls, hulls, [])
    assert in_folders(groups, ["a/h1", "a/clip", "b/x", "c"]) == {"a": ("a/h1", "a/clip"), "b": ("b/x",)}
    assert split([["h1", "h2"], ["b/h1", "b/h2"]], [], []) == {}
    assert split([["a/h1", "b/h2"], ["b/h1", "a/h2"]], [], []) == {}


def test_what_is_not_all_put_together_is_not_divided() -> None:
    groups = [["h1", "h2"], ["k1", "k2"], ["w1", "w2"]]
    both = [["h1", "h2", "w1"], ["k1", "k2"]]
    assert split(groups[:2], groups, both) == {}
    both[1].append("w2")
    made = split(groups[:2], groups, both)
    assert made == {"h1": ("h1", "h2", "w1"), "k1": ("k1", "k2", "w2")}
    assert "h1 (3 parts), k1 (3 parts)" in split_note(made)
    parts = look(sorted(HULL), HULL)
    assert hulls_of(parts, [["h1", "h2"], ["h1"]]) == [["h1", "h2"]]
