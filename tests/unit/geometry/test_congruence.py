"""One shape is known again, turned, shifted, mirrored; another is not."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from planner.geometry.mesh.congruence import congruence
from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import aerofoil_slab, box, cylinder, extruded, joined, moved, ring, sphere, tube

Matrix = NDArray[np.float64]
HAND = extruded(np.array([[0.0, 0.0], [40.0, 0.0], [31.0, 9.0], [0.0, 17.0]]), 6.0)  # no plane of symmetry


def lopsided() -> TriangleMesh:
    """A plate with a block on one corner: its mirror image is another shape."""
    return joined(HAND, moved(box(5.0, 7.0, 9.0), 2.0, 3.0, 6.0))


SHAPES = {
    "lopsided": lopsided(),
    "wing": aerofoil_slab(150.0, 200.0, tip_chord=120.0),
    "box": box(30.0, 20.0, 10.0),
    "cube": box(20.0, 20.0, 20.0),
    "tube": tube(20.0, 16.0, 50.0),
    "ring": ring(40.0, 6.0, n=24, m=12),
    "ball": sphere(30.0, 3),
}


def turn_of(seed: int) -> Matrix:
    """A random turn, without a mirror."""
    q, r = np.linalg.qr(np.random.default_rng(seed).normal(size=(3, 3)))
    q = q * np.sign(np.diag(r))
    return q * np.array([1.0, 1.0, np.sign(np.linalg.det(q))])


def laid(mesh: TriangleMesh, turn: Matrix, shift: Matrix, *, mirrored: bool = False) -> TriangleMesh:
    corners = mesh.triangles * np.array([-1.0, 1.0, 1.0]) if mirrored else mesh.triangles
    corners = corners[:, ::-1] if mirrored else corners
    return TriangleMesh((corners @ turn.T + shift).astype(np.float32).astype(np.float64))


@settings(max_examples=20, deadline=None, derandomize=True)
@given(st.sampled_from(sorted(SHAPES)), st.integers(0, 10**6), st.booleans())
def test_a_turned_shape_is_known_again(name: str, seed: int, mirrored: bool) -> None:
    """The motion that is told lays every corner where it lies, whatever turn, shift and mirror were."""
    mesh = SHAPES[name]
    rng = np.random.default_rng(seed)
    other = laid(mesh, turn_of(seed), rng.uniform(-300, 300, 3), mirrored=mirrored)
    found = congruence(mesh, other)
    assert found is not None
    assert found.mirrored == (mirrored and name in ("lopsided",))
    assert np.linalg.det(found.turn) == pytest.approx(-1.0 if found.mirrored else 1.0)
    landed = mesh.indexed[0] @ found.turn.T + found.shift
    gaps = np.linalg.norm(landed[:60, None] - other.indexed[0][None], axis=2).min(axis=1)
    assert gaps.max() < 0.02


@pytest.mark.parametrize("name", sorted(SHAPES))
def test_a_slightly_larger_shape_is_another(name: str) -> None:
    """Three parts in a thousand wider: a rib of the next station."""
    mesh = SHAPES[name]
    assert congruence(mesh, TriangleMesh(mesh.triangles * np.array([1.003, 1.0, 1.0]))) is None


def test_the_same_corners_joined_otherwise_elsewhere_are_another_shape() -> None:
    """A pin that sits at another place of the same plate, the same distance from its middle or not."""
    plate = box(60.0, 40.0, 3.0)
    one = joined(plate, moved(box(5.0, 5.0, 5.0), 10.0, 10.0, 3.0))
    other = joined(plate, moved(box(5.0, 5.0, 5.0), 10.0, 14.0, 3.0))
    assert congruence(one, other) is None


def test_a_pin_on_the_other_side_is_the_mirror_image() -> None:
    """A plate is its own mirror image; with a pin to one side and a notch it is not."""
    found = congruence(lopsided(), laid(lopsided(), np.eye(3), np.zeros(3), mirrored=True))
    assert found is not None
    assert found.mirrored


def test_other_facets_are_not_compared() -> None:
    """A finer tube is not found: the guide says so."""
    assert congruence(cylinder(20.0, 10.0, n=48), cylinder(20.0, 10.0, n=96)) is None
