"""Compiled loops over facets against brute force and closed forms on small cases."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numpy.typing import NDArray

from planner.geometry.mesh.edges_kernel import CROWDED, OPEN, pair_edges, walk
from planner.geometry.mesh.inside_kernel import fill_cells, line_crossings, surfaces_cross
from planner.geometry.mesh.merge_kernel import merge_equal, weld_close
from planner.geometry.mesh.outer_kernel import boxes_of, leaving
from planner.geometry.mesh.shells_kernel import shell_sums
from tests.builders import box, sphere

Floats = NDArray[np.float64]


def indexed(triangles: Floats) -> tuple[Floats, NDArray[np.int32]]:
    """Corners without duplicates and facets by their numbers, by numpy."""
    corners, faces = np.unique(triangles.reshape(-1, 3), axis=0, return_inverse=True)
    return corners, faces.reshape(-1, 3).astype(np.int32)


def test_equal_corners_get_one_number_in_the_order_in_which_they_are_met() -> None:
    """The same partition as numpy's; numbers rise by one with each corner not met before."""
    rng = np.random.default_rng(1)
    corners = rng.integers(-3, 3, size=(400, 3)).astype(np.float64) + 0.0
    first, vertex = merge_equal(corners.view(np.uint64))
    assert (corners[first][vertex] == corners).all()
    assert len(first) == len(np.unique(corners, axis=0))
    met = [vertex[n] for n in range(len(vertex)) if vertex[n] not in vertex[:n]]
    assert met == list(range(len(first)))


@pytest.mark.parametrize("seed", range(5))
def test_close_points_are_welded_through_others(seed: int) -> None:
    """Groups of points that hang together within reach, each named by its lowest number."""
    rng = np.random.default_rng(seed)
    points, reach = rng.uniform(0.0, 3.0, (60, 3)), 0.5
    near = np.linalg.norm(points[:, None] - points[None], axis=2) <= reach
    group = np.arange(len(points))
    for _ in points:  # the lowest number spreads through all that is near
        group = np.array([group[row].min() for row in near])
    found = weld_close(points, np.argsort(points[:, 0]).astype(np.int64), reach)
    assert found.tolist() == group.tolist()


def test_sums_of_surfaces_by_hand() -> None:
    """A box of 2 x 3 x 4 far out, another turned inside out, a facet without area."""
    far = box(2, 3, 4).triangles + 1e6
    inside_out = box(1, 1, 1).triangles[:, ::-1]
    flat = np.zeros((1, 3, 3))
    shell = np.repeat([0, 1, 2], [len(far), len(inside_out), 1])
    volumes, low, high, without = shell_sums(np.concatenate([far, inside_out, flat]), shell, 3)
    assert volumes.tolist() == pytest.approx([24.0, -1.0, 0.0])
    assert (high - low).tolist() == [[2.0, 3.0, 4.0], [1.0, 1.0, 1.0], [0.0, 0.0, 0.0]]
    assert without.tolist() == [0, 0, 1]


def test_every_half_edge_of_a_closed_surface_has_its_other_side() -> None:
    """Mates are mutual and run the other way; a missing facet opens three, a double one crowds three."""
    corners, faces = indexed(sphere(10.0).triangles)
    mate, alone, crowded = pair_edges(faces, len(corners))
    assert (alone, crowded) == (0, 0)
    ends = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)
    assert (mate[mate] == np.arange(len(mate))).all()
    assert (ends[mate] == ends[:, ::-1]).all()
    mate, alone, crowded = pair_edges(faces[1:], len(corners))
    assert (alone, crowded, (mate == OPEN).sum()) == (3, 0, 3)
    mate, alone, crowded = pair_edges(np.concatenate([faces, faces[:1]]), len(corners))
    assert (alone, crowded, (mate == CROWDED).sum()) == (0, 3, 9)


def test_turned_facets_are_found_and_one_sided_surfaces_told() -> None:
    """Facets of two spheres turned at random: each patch agrees once the told ones are turned back."""
    one = sphere(10.0).triangles
    corners, faces = indexed(np.concatenate([one, one + 100.0]))
    rng = np.random.default_rng(2)
    turned = rng.random(len(faces)) < 0.3
    faces[turned] = faces[turned][:, ::-1]
    patch, told, patches, clashes = walk(faces, pair_edges(faces, len(corners))[0])
    assert (patches, clashes) == (2, 0)
    for n in range(2):
        agree = told[patch == n] == turned[patch == n]
        assert agree.all() or not agree.any()
    ring = np.array([[n, (n + 1) % 5, (n + 2) % 5] for n in range(5)], dtype=np.int32)
    assert walk(ring, pair_edges(ring, 5)[0])[3] > 0  # five triangles make a band with one side


def test_vertical_lines_meet_a_sphere_where_they_should() -> None:
    """Up and down add to nothing; heights are those of the sphere to within its facets."""
    triangles = sphere(20.0, 5).triangles
    low = triangles.reshape(-1, 3).min(axis=0)
    for x, y in itertools.product((-6.0, 0.1, 3.3), (-7.0, 0.2, 2.0)):
        heights, ways = line_crossings(triangles, low[0] + 10.0 + x, low[1] + 10.0 + y)
        half = np.sqrt(100.0 - x * x - y * y)
        assert sorted(heights - low[2] - 10.0) == pytest.approx([-half, half], abs=0.05)
        assert sorted(ways.tolist()) == [-1, 1]
    assert len(line_crossings(triangles, low[0] - 1.0, low[1])[0]) == 0


def test_a_line_through_corners_and_edges_counts_each_surface_once() -> None:
    """Through the very corner, along an edge of the diagonal, and on the rim of a box."""
    triangles = box(2, 2, 2).triangles
    for x, y in ((1.0, 1.0), (0.5, 0.5), (0.0, 0.0), (1.0, 0.0), (2.0, 2.0)):
        _, ways = line_crossings(triangles, x, y)
        assert ways.sum() == 0
        assert len(ways) in (0, 2)


@pytest.mark.parametrize(("along_x", "crosses"), [(0.5, True), (0.95, False), (1.5, False), (-0.5, True)])
def test_surfaces_cross_only_deeper_than_asked(along_x: float, crosses: bool) -> None:
    """Two cubes side by side, pushed into each other; less than a tenth of a millimetre is no crossing."""
    one, other = box(1, 1, 1).triangles, box(1, 1, 1).triangles + np.array([along_x, 0.2, 0.6])
    edges = np.stack([other, np.roll(other, -1, axis=1)], axis=2).reshape(-1, 2, 3)
    low, shape = np.array([-2.0, -2.0, -2.0]), np.array([5, 5, 5])
    start, lists = fill_cells(one, low, 1.0, shape, 10_000)
    listed = {int(f) for f in lists}
    assert listed == set(range(len(one)))
    assert surfaces_cross(edges, one, start, lists, low, 1.0, shape, 0.1, 10**6)[0] == crosses


def test_rays_leave_the_outside_of_a_box_and_not_its_inside() -> None:
    """From above every face outwards nothing is met; inwards the face across is."""
    triangles = box(4, 4, 4).triangles
    boxes = boxes_of(triangles)
    assert (boxes[:, :3].min(axis=0) <= 0.0).all()
    assert (boxes[:, 3:].max(axis=0) >= 4.0).all()
    spots = triangles.mean(axis=1)
    ways = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    assert leaving(triangles, boxes, spots, ways, 1e-3).all()
    assert not leaving(triangles, boxes, spots, -ways, 1e-3).any()
