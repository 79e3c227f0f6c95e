"""Turning and shifting a mesh changes where it is, and nothing else."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from planner.geometry.mesh.health import examine
from planner.geometry.mesh.measure import facet_areas, measures, volume
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.pose import about_axis, mirrored
from tests import builders as build

NINE_DIGITS = 1e-9  # relative; float64 carries about sixteen
HOLLOW_BOX = build.joined(build.box(30, 30, 30), build.inward(build.box(9, 8, 7, (5, 6, 7))))
CAVITY_BEGINS, CAVITY_FACETS = 12, 12
SOLIDS = (
    build.box(10, 20, 30),
    build.tube(20, 15, 40, n=24),
    build.aerofoil_slab(180, 60, n=20, tip_chord=120),
    build.ring(40, 6, n=24, m=12),
    HOLLOW_BOX,
)
solids = st.sampled_from(SOLIDS)
lengths = st.floats(-500, 500)
axes = st.tuples(*[st.floats(-1, 1)] * 3).filter(lambda v: np.linalg.norm(v) > 0.1)


@settings(max_examples=10, deadline=None)
@given(mesh=solids, axis=axes, angle=st.floats(-180, 180), shift=st.tuples(lengths, lengths, lengths))
def test_volume_area_and_principal_inertia_stay(
    mesh: TriangleMesh,
    axis: tuple[float, float, float],
    angle: float,
    shift: tuple[float, float, float],
) -> None:
    """The centroid goes along; volume, area and the eigenvalues of the inertia stay."""
    turn = about_axis(axis, angle).matrix
    before = measures(mesh)
    after = measures(TriangleMesh(mesh.triangles @ turn.T + np.array(shift)))
    assert np.isclose(after.volume, before.volume, rtol=NINE_DIGITS)
    assert np.isclose(after.area, before.area, rtol=NINE_DIGITS)
    assert np.allclose(after.centroid, turn @ before.centroid + np.array(shift), rtol=0, atol=1e-7)
    one, other = np.linalg.eigvalsh(before.inertia), np.linalg.eigvalsh(after.inertia)
    assert np.allclose(one, other, rtol=1e-7)


@settings(max_examples=10, deadline=None)
@given(mesh=solids, axis=axes, angle=st.floats(-180, 180), shift=st.tuples(lengths, lengths, lengths))
def test_health_does_not_depend_on_where_a_mesh_lies(
    mesh: TriangleMesh,
    axis: tuple[float, float, float],
    angle: float,
    shift: tuple[float, float, float],
) -> None:
    """The same bodies, cavities and gaps are found."""
    turn = about_axis(axis, angle).matrix
    moved = examine(TriangleMesh(mesh.triangles @ turn.T + np.array(shift)))
    still = examine(mesh)
    assert (moved.bodies, moved.cavities, moved.open_edges, moved.watertight, moved.overlapping) == (
        still.bodies, still.cavities, still.open_edges, still.watertight, still.overlapping,
    )  # fmt: skip


@settings(max_examples=10, deadline=None)
@given(mesh=solids, axis=st.integers(0, 2), seed=st.integers(0, 2**32 - 1))
def test_mirroring_and_shuffling_keep_the_volume(mesh: TriangleMesh, axis: int, seed: int) -> None:
    """The other hand weighs the same, whatever the order of the facets."""
    order = np.random.default_rng(seed).permutation(len(mesh))
    other = mirrored(TriangleMesh(mesh.triangles[order]), axis)
    assert np.isclose(volume(other), volume(mesh), rtol=NINE_DIGITS)
    assert np.isclose(examine(other).volume, volume(mesh), rtol=NINE_DIGITS)


@settings(max_examples=20, deadline=None, derandomize=True)
@given(mesh=solids, seed=st.integers(0, 2**32 - 1), share=st.floats(0, 0.45))
def test_flipping_facets_does_not_change_the_mended_mesh(mesh: TriangleMesh, seed: int, share: float) -> None:
    """Whichever facets are turned over, mending gives back the volume.

    What makes a cavity is that most of its facets look inward, so most of those must stay.
    """
    flipped = np.flatnonzero(np.random.default_rng(seed).random(len(mesh)) < share).tolist()
    if mesh is HOLLOW_BOX:
        areas = facet_areas(mesh)[CAVITY_BEGINS:]
        turned = [at - CAVITY_BEGINS for at in flipped if at >= CAVITY_BEGINS]
        assume(len(turned) < CAVITY_FACETS / 2 and areas[turned].sum() < 0.45 * areas.sum())
    mended = examine(build.with_flipped(mesh, flipped))
    assert np.isclose(volume(mended.mesh), volume(mesh), rtol=NINE_DIGITS)


@pytest.mark.parametrize("seed", [11774, *range(60)])
def test_a_cavity_stays_a_cavity_whichever_facets_around_it_are_turned_over(seed: int) -> None:
    """Most facets of the outer surface may look inward: the cavity still looks inward by itself."""
    flipped = np.flatnonzero(np.random.default_rng(seed).random(len(HOLLOW_BOX)) < 0.45)
    outer = flipped[flipped < CAVITY_BEGINS].tolist()
    if seed == 11774:
        outer = np.flatnonzero(np.random.default_rng(seed).random(len(HOLLOW_BOX)) < 0.25).tolist()
    mended = examine(build.with_flipped(HOLLOW_BOX, outer))
    assert (mended.bodies, mended.cavities) == (1, 1)
    assert np.isclose(volume(mended.mesh), volume(HOLLOW_BOX), rtol=NINE_DIGITS)


def test_a_mesh_that_is_inside_out_as_a_whole_turns_its_cavity_along() -> None:
    """All facets look the wrong way, or all but one of a round body's: the cavity is known by its holder."""
    shell = build.joined(build.sphere(40.0, 3), build.inward(build.sphere(20.0, 3)))
    for over in (list(range(len(shell))), list(range(1, len(shell)))):
        mended = examine(build.with_flipped(shell, over))
        assert (mended.bodies, mended.cavities) == (1, 1)
        assert np.isclose(volume(mended.mesh), volume(shell), rtol=NINE_DIGITS)
