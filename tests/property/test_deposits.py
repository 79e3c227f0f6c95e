"""Deposits of any shape: what must not depend on how the mesh is written or where it lies."""

from __future__ import annotations

import numpy as np
from hypothesis import example, given, settings
from hypothesis import strategies as st

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import about_axis, mirrored
from planner.model.deposit import Deposit
from tests import builders
from tests.estimates import deposit_of

EXACT = 1e-9
TURNED = 0.001  # scan lines, 200 over a body, meet a turned part elsewhere
QUARTER = 0.001  # and sparse lines lie as before, so that they and their steps are as long
MIRRORED = 2e-4  # likewise, but most scan lines meet what they met
STACKED = 0.001  # scan lines meet the second body elsewhere

SHAPES = st.one_of(
    st.builds(builders.box, st.floats(2, 30), st.floats(2, 30), st.floats(1, 12)),
    st.builds(builders.frustum, st.floats(4, 30), st.floats(4, 30), st.floats(2, 12)),
    st.builds(
        lambda outer, wall, height: builders.tube(outer, outer - 2 * wall, height),
        st.floats(10, 30),
        st.floats(0.3, 4),
        st.floats(1, 12),
    ),
    st.builds(builders.sphere, st.floats(4, 24), st.just(3)),
)
RECIPES = st.fixed_dictionaries(
    {
        "walls": st.integers(1, 4),
        "top_layers": st.integers(0, 5),
        "bottom_layers": st.integers(0, 5),
        "infill": st.floats(0, 1),
    }
)
FEW = settings(max_examples=25, deadline=None, derandomize=True)


def _full(deposit: Deposit) -> float:
    """Volume of all that is laid without gaps, mm3."""
    return float(deposit.layers.wall_mm3.sum() + deposit.layers.solid_mm3.sum())


@FEW
@given(SHAPES, RECIPES, st.integers(0, 2**32 - 1))
@example(builders.sphere(18.47, 3), {"walls": 1, "top_layers": 3, "bottom_layers": 3, "infill": 0.3}, 7)
def test_order_of_facets_does_not_matter(mesh, recipe, seed):
    """Facets in another order and corners begun elsewhere give the same numbers."""
    rng = np.random.default_rng(seed)
    mixed = mesh.triangles[rng.permutation(len(mesh))]
    mixed = np.stack(
        [np.roll(t, k, axis=0) for t, k in zip(mixed, rng.integers(0, 3, len(mixed)), strict=True)]
    )
    one, other = deposit_of(mesh, **recipe), deposit_of(TriangleMesh(mixed), **recipe)
    np.testing.assert_allclose(other.layers.volume_mm3, one.layers.volume_mm3, rtol=EXACT, atol=EXACT)


@FEW
@given(SHAPES, RECIPES, st.tuples(*[st.floats(-500, 500)] * 3))
def test_place_does_not_matter(mesh, recipe, at):
    """A mesh moved anywhere gives the same deposit, and its centroid moves with it."""
    one, other = deposit_of(mesh, **recipe), deposit_of(builders.moved(mesh, *at), **recipe)
    assert abs(other.volume_mm3 - one.volume_mm3) <= 1e-6 * max(one.volume_mm3, 1.0)
    shift = np.subtract(other.centroid_in_mesh_mm, one.centroid_in_mesh_mm)
    np.testing.assert_allclose(shift, at, atol=1e-4)


@FEW
@given(SHAPES, RECIPES, st.floats(0, 360))
def test_turn_about_the_vertical_does_not_matter(mesh, recipe, angle):
    """A turn on the bed keeps walls and solid layers; sparse lines lie at 45 degrees to the bed, not to the
    part, so that their steps are others (`tests/outside/test_slow_deposits.py` has turned parts)."""
    one = deposit_of(mesh, **recipe)
    other = deposit_of(mesh, pose=about_axis((0, 0, 1), angle), **recipe)
    assert abs(_full(other) - _full(one)) <= TURNED * one.volume_mm3


@FEW
@given(SHAPES, RECIPES, st.integers(1, 3))
def test_quarter_turns_do_not_matter(mesh, recipe, quarters):
    """After a quarter turn lines at 45 degrees lie as before: all of the volume is kept."""
    one = deposit_of(mesh, **recipe)
    other = deposit_of(mesh, pose=about_axis((0, 0, 1), 90.0 * quarters), **recipe)
    assert abs(other.volume_mm3 - one.volume_mm3) <= QUARTER * one.volume_mm3


@FEW
@given(SHAPES, RECIPES)
def test_other_hand_is_the_same(mesh, recipe):
    """The mirror image weighs the same."""
    one, other = deposit_of(mesh, **recipe), deposit_of(mirrored(mesh), **recipe)
    assert abs(other.volume_mm3 - one.volume_mm3) <= MIRRORED * one.volume_mm3


@FEW
@given(SHAPES, RECIPES)
@example(
    builders.frustum(10.75, 23.0, 3.75), {"walls": 1, "top_layers": 0, "bottom_layers": 2, "infill": 0.2}
)
@example(builders.sphere(4.6, 3), {"walls": 3, "top_layers": 4, "bottom_layers": 2, "infill": 0.1})
@example(builders.sphere(4.0, 3), {"walls": 2, "top_layers": 0, "bottom_layers": 0, "infill": 0.5})
def test_two_apart_are_twice_one(mesh, recipe):
    """Two bodies that do not touch, in one mesh, are twice one body."""
    pair = builders.joined(mesh, builders.moved(mesh, 60.0, 0.0, 0.0))
    one, two = deposit_of(mesh, **recipe), deposit_of(pair, **recipe)
    assert abs(two.volume_mm3 - 2.0 * one.volume_mm3) <= STACKED * two.volume_mm3


@FEW
@given(SHAPES, RECIPES)
def test_never_more_than_the_solid(mesh, recipe):
    """Without brim and support no layer holds more than its section, and kinds are never negative."""
    deposit = deposit_of(mesh, **recipe)
    layers = deposit.layers
    height = np.diff(layers.top_mm, prepend=0.0)
    assert (layers.volume_mm3 <= layers.area_mm2 * height * (1 + EXACT) + 1e-9).all()
    for column in (layers.wall_mm3, layers.solid_mm3, layers.sparse_mm3, layers.path_mm):
        assert (column >= 0.0).all()
