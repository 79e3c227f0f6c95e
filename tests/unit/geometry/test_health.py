"""What is found in broken meshes, and what becomes of them."""

from __future__ import annotations

import numpy as np
import pytest

from planner.errors import MeshError
from planner.geometry.mesh.health import examine, merged
from planner.geometry.mesh.measure import volume
from planner.geometry.mesh.mesh import TriangleMesh
from tests import builders as build

EXACT = 1e-9  # relative, of sums over some thousand facets


def test_a_sound_mesh_is_left_as_it_is() -> None:
    """Nothing is found, and the very same value comes back."""
    mesh = build.tube(20, 16, 30)
    health = examine(mesh)
    assert health.mesh is mesh
    assert health.watertight
    assert (health.bodies, health.cavities, health.sheets) == (1, 0, 0)
    assert health.volume == pytest.approx(volume(mesh), rel=EXACT)


def test_a_mesh_inside_out_is_turned() -> None:
    """Negative volume becomes positive, and it is said."""
    health = examine(build.inward(build.box(10, 20, 30)))
    assert health.inside_out == 1
    assert volume(health.mesh) == pytest.approx(6000, rel=EXACT)
    assert health.watertight


@pytest.mark.parametrize("facets", [[1], [0, 5, 7], [0, 1, 2, 3, 4, 5, 6, 8]])
def test_flipped_facets_are_turned_to_agree_with_the_rest(facets: list[int]) -> None:
    """Few or most of them flipped: the box is whole again, and the fewer are counted."""
    health = examine(build.with_flipped(build.box(10, 20, 30), facets))
    assert volume(health.mesh) == pytest.approx(6000, rel=EXACT)
    assert health.turned == min(len(facets), 12 - len(facets))
    assert health.watertight


def test_many_flipped_facets_of_a_round_mesh_are_turned() -> None:
    """A third of the facets of a sphere flipped at random leaves its volume as it was."""
    ball = build.sphere(40, 4)
    flipped = np.flatnonzero(np.random.default_rng(4).random(len(ball)) < 0.33).tolist()
    health = examine(build.with_flipped(ball, flipped))
    assert health.turned == len(flipped)
    assert volume(health.mesh) == pytest.approx(volume(ball), rel=EXACT)


def test_open_edges_are_counted() -> None:
    """Without one facet three edges are open; without two that share an edge, four."""
    assert examine(build.without(build.tube(20, 16, 30), [3])).open_edges == 3
    # The first two facets of a box close its floor.
    holed = examine(build.without(build.box(10, 20, 30), [0, 1]))
    assert (holed.open_edges, holed.watertight, holed.sheets) == (4, False, 1)


def test_collapsed_and_repeated_facets_are_removed() -> None:
    """A facet with two equal corners and one that lies upon another go; the box stays shut."""
    mesh = build.box(10, 20, 30)
    collapsed = mesh.triangles[:1].copy()
    collapsed[0, 2] = collapsed[0, 1]
    health = examine(TriangleMesh(np.concatenate([mesh.triangles, collapsed, mesh.triangles[3:5]])))
    assert (health.collapsed, health.repeated) == (1, 2)
    assert len(health.mesh) == 12
    assert health.watertight


def test_a_facet_without_area_that_holds_the_surface_shut_stays() -> None:
    """A corner in the middle of an edge of one side only: the sliver between them is kept and counted."""
    a, b, c, d = (np.array(p, dtype=float) for p in ([0, 0, 0], [4, 0, 0], [0, 4, 0], [0, 0, 4]))
    middle = np.array([2.0, 0, 0])
    sliver = [a, b, middle]
    facets = [[a, c, b], [b, c, d], [a, d, c], [a, middle, d], [middle, b, d], sliver]
    health = examine(TriangleMesh(np.array(facets)))
    assert health.watertight
    assert (health.slivers, health.collapsed) == (1, 0)
    assert health.volume == pytest.approx(64 / 6)


def test_a_body_written_twice_is_one() -> None:
    """All facets of the second go."""
    health = examine(build.joined(build.box(9, 9, 9), build.box(9, 9, 9)))
    assert (health.repeated, health.bodies) == (12, 1)
    assert health.volume == pytest.approx(729)


def test_a_double_sided_surface_is_one_body() -> None:
    """Every facet in both directions: one of each two stays, and looks outward."""
    health = examine(build.joined(build.box(9, 9, 9), build.inward(build.box(9, 9, 9))))
    assert health.volume == pytest.approx(729)
    assert health.twins == 12
    assert health.watertight


def test_bodies_that_stand_face_to_face_become_one() -> None:
    """The facets between two stacked boxes cancel."""
    health = examine(build.joined(build.box(10, 10, 10), build.box(10, 10, 10, (0, 0, 10))))
    assert (health.twins, health.bodies) == (4, 1)
    assert health.volume == pytest.approx(2000)
    assert health.watertight


def test_bodies_that_touch_in_an_edge_stay_two() -> None:
    """The edge has four facets, and both boxes are closed."""
    health = examine(build.joined(build.box(10, 10, 10), build.box(10, 10, 10, (10, 10, 0))))
    assert (health.crowded_edges, health.bodies, health.overlapping) == (1, 2, 0)
    assert health.watertight


def test_an_inward_body_within_another_is_a_cavity() -> None:
    """It is counted as such and taken off."""
    health = examine(build.joined(build.box(30, 30, 30), build.inward(build.box(10, 10, 10, (9, 9, 9)))))
    assert (health.bodies, health.cavities, health.inside_out, health.overlapping) == (1, 1, 0, 0)
    assert health.volume == pytest.approx(26000)


def test_a_hollow_body_inside_out_is_turned_with_its_cavity() -> None:
    """Both surfaces are turned, and the hollow stays hollow."""
    hollow = build.joined(build.box(30, 30, 30), build.inward(build.box(10, 10, 10, (9, 9, 9))))
    health = examine(build.inward(hollow))
    assert health.inside_out == 2
    assert health.volume == volume(health.mesh) == pytest.approx(26000)


def test_a_cavity_with_a_gap_is_still_a_cavity() -> None:
    """A missing facet does not make material of a hollow."""
    torn = build.without(build.inward(build.sphere(20, 3)), [7])
    health = examine(build.joined(build.moved(build.box(40, 40, 40), -20, -20, -20), torn))
    assert health.volume < 64000 - 0.9 * volume(build.sphere(20, 3))
    assert not health.watertight


def test_an_island_in_a_cavity_counts() -> None:
    """30^3 - 20^3 + 10^3."""
    health = examine(
        build.joined(
            build.box(30, 30, 30),
            build.inward(build.box(20, 20, 20, (5, 5, 5))),
            build.box(10, 10, 10, (9, 9, 9)),
        )
    )
    assert (health.bodies, health.cavities) == (2, 1)
    assert health.volume == pytest.approx(20000)


def test_a_body_within_the_material_of_another_is_left_out() -> None:
    """It adds nothing (positive fill); it is said."""
    health = examine(build.joined(build.box(30, 30, 30), build.box(10, 10, 10, (9, 9, 9))))
    assert (health.swallowed, health.bodies) == (1, 1)
    assert volume(health.mesh) == pytest.approx(27000)


@pytest.mark.parametrize(
    ("other", "overlapping"),
    [
        (build.box(10, 10, 30, (25, 10, 10)), 1),  # sticks out
        (build.box(2, 2, 50, (10, 10, -10)), 1),  # runs through: no corner of either is inside the other
        (build.box(10, 10, 10, (30, 10, 10)), 0),  # touches from outside
        (build.box(10, 10, 10, (40, 0, 0)), 0),  # apart
        (build.moved(build.sphere(10, 3), 30, 15, 15), 1),  # half inside
        (build.moved(build.sphere(10, 3), 35.02, 15, 15), 0),  # all but touches
    ],
)
def test_overlapping_bodies_are_told_from_touching_ones(other: TriangleMesh, overlapping: int) -> None:
    """Bounding boxes may meet; only surfaces that cross count."""
    health = examine(build.joined(build.box(30, 30, 30), other))
    assert health.overlapping == overlapping
    assert health.bodies == 2


def test_a_plug_in_a_tube_does_not_overlap_it() -> None:
    """The cylinder fills the bore to the last corner; bounding boxes lie within each other."""
    health = examine(build.joined(build.tube(20, 10, 10), build.cylinder(10, 12)))
    assert health.overlapping == 0
    assert health.volume == pytest.approx(volume(build.tube(20, 10, 10)) + volume(build.cylinder(10, 12)))


def test_corners_that_all_but_meet_are_joined() -> None:
    """Each facet shaken by a ten-thousandth of a mm: shut again, volume as before."""
    ball = build.sphere(50, 4)
    shake = np.random.default_rng(1).uniform(-2e-4, 2e-4, ball.triangles.shape)
    health = examine(TriangleMesh(ball.triangles + shake))
    assert health.watertight
    assert health.welded > 1000
    assert health.volume == pytest.approx(volume(ball), rel=1e-4)


def test_a_strip_with_one_side_is_named() -> None:
    """A band with half a turn in it has no outside."""
    n = 24
    along = np.linspace(0, 2 * np.pi, n, endpoint=False)
    half = along / 2
    across = np.stack([np.cos(half) * np.cos(along), np.cos(half) * np.sin(along), np.sin(half)], axis=1)
    middle = 20 * np.stack([np.cos(along), np.sin(along), np.zeros(n)], axis=1)
    one, other = middle + 3 * across, middle - 3 * across
    facets = []
    for k in range(n):
        p, q = (one[k + 1], other[k + 1]) if k + 1 < n else (other[0], one[0])
        facets += [[one[k], other[k], p], [other[k], q, p]]
    health = examine(TriangleMesh(np.array(facets)))
    assert health.one_sided > 0
    assert not health.watertight


def test_a_mesh_without_any_area_is_refused() -> None:
    """Only collapsed facets: an error, not an empty mesh."""
    with pytest.raises(MeshError, match="without area"):
        examine(TriangleMesh(np.array([[[0, 0, 0], [0, 0, 0], [1, 1, 1]]], dtype=float)))


def test_the_distance_from_the_origin_is_to_the_nearest_point() -> None:
    """A box from (300, 400, -5) on is 500 mm away; one about the origin is not."""
    assert examine(build.box(1, 1, 10, (300, 400, -5))).distance == pytest.approx(500)
    assert examine(build.moved(build.box(2, 2, 2), -1, -1, -1)).distance == 0
    assert examine(build.box(1, 1, 1, (100_000, 0, 0))).single_step == 2**-7


def test_more_bodies_than_can_be_compared_are_said_so() -> None:
    """401 boxes in a row: none is lost, none is turned, and it is said that they were not compared."""
    row = build.joined(*[build.box(1, 1, 1, (2.0 * k, 0, 0)) for k in range(401)])
    health = examine(row)
    assert not health.compared
    assert (health.bodies, health.volume) == (401, pytest.approx(401))
    assert examine(build.inward(row)).volume == pytest.approx(401)


def test_equal_corners_get_one_number() -> None:
    """Eight vertices of a box, minus nought and nought alike, in the order in which they are met."""
    mesh = build.box(1, 1, 1)
    vertices, faces = merged(TriangleMesh(mesh.triangles * -1.0))
    assert len(vertices) == 8
    assert np.array_equal(vertices[faces], mesh.triangles * -1.0)
