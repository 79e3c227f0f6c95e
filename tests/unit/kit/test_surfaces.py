"""Wing, tail and hull by shape and by what fits what."""

from __future__ import annotations

import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.drawn import DrawnInPlace
from planner.kit.ends import look
from planner.kit.joints import join
from planner.kit.rows import rows_of
from planner.kit.surfaces import MATED, hand_by_shape, places_of, trial, upper_side
from tests.builders import aerofoil_slab, box, cylinder, moved, tube
from tests.kits import shapes
from tests.unit.geometry.test_profiles import cambered, laid


def places(meshes: dict[str, TriangleMesh], named: dict[str, str] | None = None, leave: str = "") -> dict:
    parts = look(sorted(meshes), meshes)
    rows = rows_of(parts, join(parts, {}, {}))
    return places_of(parts, rows, named or {}, frozenset(leave.split()))


WING = {
    "w1": aerofoil_slab(180.0, 150.0, tip_chord=160.0),
    "w2": moved(aerofoil_slab(180.0, 150.0, tip_chord=160.0), x=9.0),
}
TAIL = {
    "t1": aerofoil_slab(90.0, 110.0, 0.09, tip_chord=70.0),
    "t2": aerofoil_slab(90.0, 110.0, 0.09, tip_chord=70.0),
}


def test_the_largest_twins_are_the_wing_and_smaller_ones_the_tail() -> None:
    found = places({**WING, **TAIL})
    assert {name: place.section for name, place in found.items()} == {
        "w1": "wing", "w2": "wing", "t1": "tail", "t2": "tail",
    }  # fmt: skip
    assert all(place.confidence >= MATED for place in found.values())


def test_a_lone_panel_is_less_sure_than_twins() -> None:
    found = places({**WING, "fin": TAIL["t1"]})
    assert found["fin"].section == "tail"
    assert found["fin"].confidence < MATED <= found["w1"].confidence + 1e-9 or found["w1"].section == "wing"
    assert found["fin"].confidence < MATED


def test_a_name_holds_before_size_for_all_that_fits_it() -> None:
    found = places(TAIL, {"t1": "wing"})
    assert {place.section for place in found.values()} == {"wing"}
    assert found["t2"].reason == "its end fits a part of the wing"


def test_hulls_that_fit_one_another_are_surer_than_one_alone() -> None:
    hull = {"a": tube(60.0, 56.0, 110.0), "b": tube(60.0, 56.0, 90.0)}
    both, alone = places(hull), places({"a": hull["a"]})
    assert {place.section for place in (*both.values(), *alone.values())} == {"fuselage"}
    assert alone["a"].confidence < MATED == both["a"].confidence


def test_ribs_are_the_wings_plates_and_what_is_left_out_are_nothing() -> None:
    meshes = {
        "r": shapes.mesh_of(shapes.rib(140.0, 2.4)),
        "p": shapes.mesh_of(shapes.block(80.0, 60.0, 3.0)),
        "x": shapes.mesh_of(shapes.rib(120.0, 2.4)),
    }
    assert {name: place.section for name, place in places(meshes, leave="x").items()} == {"r": "wing"}


@pytest.mark.parametrize(
    ("mesh", "is_one"),
    [
        (box(20.0, 20.0, 20.0), True),
        (box(40.0, 40.0, 40.0), False),
        (box(20.0, 20.0, 26.0), False),
        (cylinder(20.0, 20.0), False),
    ],
)
def test_trial_pieces_are_cubes_of_a_small_size(mesh: TriangleMesh, is_one: bool) -> None:
    parts = look(["a"], {"a": laid(mesh, 3)})
    assert trial(parts, "a") is is_one


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_hands_of_cambered_panels_whichever_way_they_lie(seed: int) -> None:
    # chord along x, bend along y, span along z: aft x up = x cross y = z for a left-handed airframe of x aft,
    # y right, z up, in which right = up cross aft; so the span looks to the left
    meshes = {"l": laid(cambered(160.0, 130.0), seed), "r": laid(cambered(160.0, 130.0, left=True), seed + 4)}
    parts = look(sorted(meshes), meshes)
    assert {name: hand_by_shape(parts, name) for name in meshes} == {"l": "left", "r": "right"}


def test_no_hand_where_both_sides_or_both_ends_are_alike() -> None:
    meshes = {"even": aerofoil_slab(150.0, 90.0, tip_chord=120.0), "straight": cambered(150.0, 150.0)}
    parts = look(sorted(meshes), meshes)
    assert {hand_by_shape(parts, name) for name in meshes} == {"none"}
    assert upper_side(parts.pads["even"][0].face) is None
    import numpy as np

    placed = DrawnInPlace(np.array([60.0, 0.0, -300.0]), np.array([1.0, 0.0, 0.0]))
    assert hand_by_shape(parts, "straight", placed) == "left"  # its lower end is the root
    beyond = DrawnInPlace(np.array([60.0, 0.0, 300.0]), np.array([1.0, 0.0, 0.0]))
    assert hand_by_shape(parts, "straight", beyond) == "right"
