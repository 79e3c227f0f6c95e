"""Connected surfaces: their number, whether they close, and which facets were turned."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.shells import Shells, find_shells
from tests.builders import box, cylinder, joined, moved, sphere, with_flipped, without

Ints = NDArray[np.int32]


def indexed(mesh: TriangleMesh) -> tuple[Ints, NDArray[np.float64]]:
    points, at = np.unique(mesh.triangles.reshape(-1, 3), axis=0, return_inverse=True)
    return np.ascontiguousarray(at.reshape(-1, 3).astype(np.int32)), points


def shells(mesh: TriangleMesh) -> Shells:
    faces, points = indexed(mesh)
    return find_shells(faces, len(points))


def test_a_box_is_one_closed_surface() -> None:
    found = shells(box(3.0, 2.0, 1.0))
    assert len(found) == 1
    assert found.closed.tolist() == [True]
    assert (found.open_edges, found.crowded_edges, found.turned, found.one_sided) == (0, 0, 0, 0)


def test_bodies_apart_have_numbers_of_their_own() -> None:
    """One of them open: a missing facet leaves three edges."""
    mesh = joined(
        box(3.0, 2.0, 1.0), moved(without(box(3.0, 2.0, 1.0), [4]), 10.0), moved(sphere(4.0, 1), 30.0)
    )
    found = shells(mesh)
    assert len(found) == 3
    assert found.closed.tolist() == [True, False, True]
    assert found.open_edges == 3
    assert found.shell.tolist() == [0] * 12 + [1] * 11 + [2] * 32


def test_a_few_facets_that_look_inward_are_turned() -> None:
    """The majority of a surface decides; its share is told; the volume is then that of the sound body."""
    sound, bent = box(3.0, 2.0, 1.0), with_flipped(box(3.0, 2.0, 1.0), [1, 5, 8])
    found = shells(joined(bent, moved(sound, 10.0)))
    assert found.turned == 3
    assert found.mixed == pytest.approx([3.0 / 12.0, 0.0])
    faces, points = indexed(joined(bent, moved(sound, 10.0)))
    made = trimesh.Trimesh(points, found.faces, process=False)
    assert made.is_winding_consistent
    assert made.volume == pytest.approx(12.0)
    assert (np.sort(found.faces) == np.sort(faces)).all()


def test_a_surface_that_is_inside_out_is_left_so() -> None:
    """All of its facets agree; that it is inside out is for others to see."""
    found = shells(with_flipped(box(3.0, 2.0, 1.0), range(12)))
    assert (found.turned, found.closed.tolist()) == (0, [True])


def test_turned_facets_of_an_open_surface_keep_their_open_edges() -> None:
    """Turning renumbers the edges of a facet: a box without lid stays open and no more so."""
    lidless = without(box(3.0, 2.0, 1.0), [10, 11])
    for turned in range(10):
        found = shells(with_flipped(lidless, [turned]))
        assert (found.turned, found.open_edges) == (1, 4)
        assert found.closed.tolist() == [False]


def test_a_band_with_a_half_turn_has_an_edge_at_which_nothing_helps() -> None:
    """A Moebius band of six quads: one edge stays where its facets disagree."""
    n = 6
    low, high = np.arange(n), np.arange(n) + n
    faces = []
    for k in range(n):
        a, b = low[k], high[k]
        c, d = (low[k + 1], high[k + 1]) if k + 1 < n else (high[0], low[0])
        faces += [[a, c, b], [b, c, d]]
    found = find_shells(np.array(faces, dtype=np.int32), 2 * n)
    assert found.one_sided == 1
    assert len(found) == 1
    assert not found.closed[0]
    ring = [[low[k], low[(k + 1) % n], high[k]] for k in range(n)] + [
        [high[k], low[(k + 1) % n], high[(k + 1) % n]] for k in range(n)
    ]
    assert find_shells(np.array(ring, dtype=np.int32), 2 * n).one_sided == 0


def test_two_bodies_that_touch_in_an_edge_stay_two_and_closed() -> None:
    """Four facets meet there; each body runs along it once up and once down."""
    found = shells(joined(box(2.0, 2.0, 2.0), moved(box(2.0, 2.0, 2.0), 2.0, 2.0)))
    assert found.crowded_edges >= 1
    assert len(found) == 2
    assert found.closed.all()
    assert np.bincount(found.shell).tolist() == [12, 12]


def test_a_turned_facet_keeps_its_crowded_edge() -> None:
    """Of the same two bodies any facet that looks inward is turned, and both stay closed."""
    touching = joined(box(2.0, 2.0, 2.0), moved(box(2.0, 2.0, 2.0), 2.0, 2.0))
    for turned in range(24):
        found = shells(with_flipped(touching, [turned]))
        assert (found.turned, len(found)) == (1, 2)
        assert found.closed.all()


def test_a_fin_on_a_box_stays_open() -> None:
    """A single facet on an edge of a closed box makes three meet there: the fin does not close."""
    faces, points = indexed(box(2.0, 2.0, 2.0))
    fin = np.array([[faces[0, 0], faces[0, 1], len(points)]], dtype=np.int32)
    found = find_shells(np.concatenate([faces, fin]), len(points) + 1)
    assert found.crowded_edges == 1
    assert not found.closed[found.shell[-1]]
    assert found.open_edges == 2


@settings(max_examples=20, deadline=None)
@given(
    gone=st.lists(st.integers(0, 31), max_size=5, unique=True),
    turned=st.lists(st.integers(0, 26), max_size=6, unique=True),
    seed=st.integers(0, 50),
)
def test_components_and_open_edges_are_those_of_the_mesh_library(
    gone: list[int], turned: list[int], seed: int
) -> None:
    """A ball with facets missing and turned, in any order, beside a cylinder."""
    mesh = joined(with_flipped(without(sphere(6.0, 1), gone), turned), moved(cylinder(3.0, 4.0, 8), 20.0))
    mesh = TriangleMesh(mesh.triangles[np.random.default_rng(seed).permutation(len(mesh.triangles))])
    faces, points = indexed(mesh)
    found = find_shells(faces, len(points))
    made = trimesh.Trimesh(points, faces, process=False)
    labels = trimesh.graph.connected_component_labels(made.face_adjacency, node_count=len(faces))
    pairs = set(zip(labels.tolist(), found.shell.tolist(), strict=True))
    assert len(pairs) == len(set(labels.tolist())) == len(found)
    single = trimesh.grouping.group_rows(made.edges_sorted, require_count=1)
    assert found.open_edges == len(single)
    open_ = {int(found.shell[half // 3]) for half in single}
    assert set(np.flatnonzero(~found.closed).tolist()) == open_
    assert trimesh.Trimesh(points, found.faces, process=False).is_winding_consistent
