"""Which parts follow one another, on solids whose ends are known."""

from __future__ import annotations

from itertools import permutations

import manifold3d
import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.chains import chains
from tests.builders import aerofoil
from tests.kits import shapes

TAPERS = (0.9, 0.8, 0.95)


def panel(
    chord: float, taper: float, *, at: tuple[float, float] = (0.0, 0.0), high: float = 60.0
) -> TriangleMesh:
    outline = manifold3d.CrossSection([aerofoil(chord, 0.12, 40).tolist()])
    return shapes.mesh_of(outline.extrude(high, 4, 0.0, (taper, taper)).translate((*at, 7.0)))


def wing(at: tuple[tuple[float, float], ...] = ((0.0, 0.0),) * 3) -> dict[str, TriangleMesh]:
    found, chord = {}, 160.0
    for name, taper, place in zip("abc", TAPERS, at, strict=True):
        found[name] = panel(chord, taper, at=place)
        chord *= taper
    return found


@pytest.mark.parametrize("order", list(permutations("abc")))
def test_tapering_panels_follow_one_another_in_whatever_order_they_come(order: tuple[str, ...]) -> None:
    meshes = wing()
    (chain,) = chains({name: meshes[name] for name in order}, {})
    assert chain.parts == ("a", "b", "c")
    assert chain.in_place
    np.testing.assert_allclose((chain.low_mm[0], chain.size_mm[0]), (0.0, 160.0), atol=0.1)
    np.testing.assert_allclose(chain.size_mm[1], 0.12 * 160.0, rtol=0.01)  # thickness of the aerofoil
    assert 0.35 < chain.fore < 0.5  # of its area, the middle of an aerofoil lies before half of the chord


def test_panels_that_were_not_drawn_together_have_an_order_and_no_place() -> None:
    (chain,) = chains(wing(((0.0, 0.0), (5.0, 0.0), (0.0, 0.0))), {})
    assert (chain.parts, chain.in_place) == (("a", "b", "c"), False)


def test_ends_of_one_size_and_another_shape_do_not_fit() -> None:
    round_one = shapes.mesh_of(manifold3d.CrossSection.circle(20.0, 96).extrude(50.0))
    square = shapes.mesh_of(shapes.block(20.0 * np.sqrt(np.pi), 20.0 * np.sqrt(np.pi), 50.0))
    # equal areas; lengths round them 125.7 and 141.8 mm
    assert chains({"a": round_one, "b": square}, {}) == ()


def test_a_turned_end_does_not_fit() -> None:
    bar = manifold3d.CrossSection.square((60.0, 20.0)).extrude(50.0)
    assert chains({"a": shapes.mesh_of(bar), "b": shapes.mesh_of(bar.rotate((0, 0, 90)))}, {}) == ()


def test_parts_of_one_section_follow_by_rank_or_not_at_all() -> None:
    same = {name: panel(150.0, 1.0) for name in "abc"}
    assert chains(same, {}) == ()
    (chain,) = chains(same, {"a": 3, "b": 1, "c": 2})
    assert chain.parts == ("b", "c", "a")
    (chain,) = chains(same, {"a": 3, "b": 1})
    assert chain.parts == ("b", "a")


def test_two_that_fit_the_same_end_are_left_open() -> None:
    meshes = {"hull": panel(150.0, 0.9), "one": panel(135.0, 0.5), "other": panel(135.0, 0.7)}
    assert chains(meshes, {}) == ()


def test_plates_and_rods_are_no_lengths_of_anything() -> None:
    plate = panel(150.0, 1.0, high=3.0)
    rod = shapes.mesh_of(manifold3d.CrossSection.circle(4.0, 32).extrude(80.0))
    assert chains({"a": plate, "b": plate, "c": rod, "d": rod}, {"a": 1, "b": 2, "c": 1, "d": 2}) == ()


def test_the_ends_of_a_mesh_are_found_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """One panel more costs its own ends; parts of the same meshes make the same chain."""
    meshes = {"a": panel(161.0, 0.9), "b": panel(161.0 * 0.9, 0.9)}
    (before,) = chains(meshes, {})
    looked: list[TriangleMesh] = []
    monkeypatch.setattr("planner.kit.chains._ends", lambda mesh: looked.append(mesh) or None)
    added = panel(131.7, 0.8)
    (again,) = chains(
        {**{name: panel(161.0 * k, 0.9) for name, k in (("a", 1.0), ("b", 0.9))}, "c": added}, {}
    )
    assert again.parts == before.parts
    assert looked == [added]
