"""Two airframes in one folder are told; one is not."""

from __future__ import annotations

import pytest

from planner.kit.airframes import several_airframes
from planner.kit.by_shape import read_shapes
from planner.kit.ends import look
from planner.kit.reading import KitMesh
from planner.kit.stacks import RawKit
from planner.kit.summary import kit_lines
from tests.builders import aerofoil_slab, frustum
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
