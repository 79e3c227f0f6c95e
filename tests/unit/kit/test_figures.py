"""Kinds of parts by shape, on solids whose kind is known."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from planner.kit.figures import blunt, ends_of, figure_of
from tests.builders import aerofoil_slab, box, sphere, tube
from tests.kits import shapes

TURN = np.linalg.qr(np.random.default_rng(5).normal(size=(3, 3)))[0]  # of either hand: sizes do not care


def turned(mesh: TriangleMesh) -> TriangleMesh:
    turn = TURN * np.sign(np.linalg.det(TURN))
    return TriangleMesh(mesh.triangles @ turn.T + np.array([5.0, -40.0, 11.0]))


KINDS = {
    "panel": aerofoil_slab(150.0, 120.0, tip_chord=130.0),
    "body": tube(60.0, 56.0, 110.0),
    "rib": shapes.mesh_of(shapes.rib(150.0, 2.4)),
    "plate": shapes.mesh_of(shapes.block(80.0, 60.0, 3.0)),
    "small": shapes.mesh_of(shapes.clip(15.0, 12.0, 20.0)),
    "block": sphere(60.0, 3),
}


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_known_however_it_lies(kind: str) -> None:
    assert figure_of(KINDS[kind]).kind == kind
    assert figure_of(turned(KINDS[kind])).kind == kind


def test_a_thin_tail_panel_is_no_rib_for_its_plane_faces_are_its_ends() -> None:
    thin = aerofoil_slab(66.0, 140.0, 0.08, tip_chord=58.0)
    assert max(figure_of(thin).size) == pytest.approx(140.0, rel=0.1)
    assert figure_of(thin).kind == "panel"


def test_sizes_and_mean_wall() -> None:
    figure = figure_of(turned(box(100.0, 40.0, 20.0)))
    np.testing.assert_allclose(figure.size, (100.0, 40.0, 20.0), rtol=1e-6)
    assert figure.planform == pytest.approx(4000.0)
    assert figure.wall == pytest.approx(2.0 * 80_000.0 / 13_600.0)  # 2 V / A (geometry)


def test_an_aerofoil_is_blunt_at_one_end_and_a_bar_is_not() -> None:
    assert all(blunt(face) for face in KINDS["panel"] and figure_of(KINDS["panel"]).faces)
    assert not any(blunt(face) for face in figure_of(box(150.0, 20.0, 80.0)).faces)


def test_ends_are_two_opposite_faces_and_those_that_others_have_come_first() -> None:
    mesh = box(100.0, 60.0, 50.0)
    figure = figure_of(mesh)
    assert figure.kind == "body"
    shapes_ = [0 if abs(face.normal[0]) > 0.9 else 1 + (abs(face.normal[1]) > 0.9) for face in figure.faces]
    largest = ends_of(figure, mesh, shapes_, {})
    assert {shapes_[k] for k in largest} == {1}  # 100 x 60, across z
    chosen = ends_of(figure, mesh, shapes_, {0: 2})
    assert {shapes_[k] for k in chosen} == {0}
    assert len(chosen) == 2
    normals = [figure.faces[k].normal for k in chosen]
    assert normals[0] @ normals[1] == pytest.approx(-1.0)


def test_plates_and_small_parts_have_no_ends() -> None:
    for kind in ("plate", "rib", "small"):
        figure = figure_of(KINDS[kind])
        assert ends_of(figure, KINDS[kind], [0] * len(figure.faces), {0: 9}) == ()


def test_a_shape_is_found_once_and_another_one_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder is looked at again for one mesh that changed; a mesh that differs by a hair is another."""
    first = figure_of(box(91.0, 33.0, 17.0))
    monkeypatch.setattr("planner.kit.figures.plane_faces", lambda mesh: ())
    assert figure_of(box(91.0, 33.0, 17.0)) is first
    other = figure_of(box(91.0, 33.0, 17.000001))
    assert (other.faces, len(first.faces)) == ((), 6)
