"""Which surfaces of a mesh lie inside which, and which run through each other."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh import bodies
from planner.geometry.mesh.bodies import Nesting, find_nesting
from planner.geometry.mesh.mesh import TriangleMesh
from tests.builders import box, moved, sphere, without


def nested(*meshes: TriangleMesh, open_: tuple[int, ...] = ()) -> Nesting:
    """Each mesh is one surface, closed unless it is named."""
    triangles = np.concatenate([mesh.triangles for mesh in meshes])
    shell = np.repeat(np.arange(len(meshes)), [len(mesh.triangles) for mesh in meshes])
    closed = np.array([n not in open_ for n in range(len(meshes))])
    order = np.random.default_rng(1).permutation(len(triangles))  # facets come in any order
    return find_nesting(triangles[order], shell[order], closed)


def test_a_ball_in_a_box_in_a_box() -> None:
    """Holders of each, whatever the order of the surfaces."""
    ball, small, large = (
        sphere(8.0, 2),
        moved(box(20, 20, 20), -10, -10, -10),
        moved(box(50, 50, 50), -25, -25, -25),
    )
    assert nested(ball, small, large).holders == ((1, 2), (2,), ())
    found = nested(large, ball, small)
    assert [sorted(held) for held in found.holders] == [[], [0, 2], [0]]
    assert (found.crossing, found.complete) == ((), True)


@pytest.mark.parametrize(
    ("shift", "crossing"),
    [
        ((5.0, 5.0, 5.0), ((0, 1),)),
        ((30.0, 0.0, 0.0), ()),
        ((10.1, 0.0, 0.0), ()),
        ((9.0, 9.0, 9.0), ((0, 1),)),
    ],
)
def test_boxes_that_share_space(
    shift: tuple[float, float, float], crossing: tuple[tuple[int, int], ...]
) -> None:
    """Neither lies inside the other; apart there is nothing to tell."""
    found = nested(box(10.0, 10.0, 10.0), moved(box(10.0, 10.0, 10.0), *shift))
    assert found.crossing == crossing
    assert found.holders == ((), ())


def test_boxes_whose_bounds_meet_and_that_do_not() -> None:
    """A ball in the corner of the bounds of another one lies beside it."""
    found = nested(sphere(20.0, 3), moved(sphere(4.0, 2), 9.0, 9.0, 9.0))
    assert (found.crossing, found.holders) == ((), ((), ()))


def test_an_open_surface_is_held_and_crosses_nothing() -> None:
    """A cavity with a gap is still inside; a torn box that sticks out is no overlap of bodies."""
    torn = without(moved(box(5.0, 5.0, 5.0), 2.0, 2.0, 2.0), [0])
    assert nested(box(10.0, 10.0, 10.0), torn, open_=(1,)).holders == ((), (0,))
    out = without(moved(box(10.0, 10.0, 10.0), 5.0, 5.0, 5.0), [0])
    assert nested(box(10.0, 10.0, 10.0), out, open_=(1,)).crossing == ()


def test_one_surface_has_no_neighbour() -> None:
    """Nothing is compared."""
    found = nested(box(1.0, 1.0, 1.0))
    assert (found.holders, found.crossing, found.complete) == (((),), (), True)


def test_too_many_are_said_to_be_too_many(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is told of them, and that it is not."""
    monkeypatch.setattr(bodies, "MOST_COMPARED", 3)
    meshes = [moved(box(10.0, 10.0, 10.0), n) for n in range(4)]
    found = nested(*meshes)
    assert (found.holders, found.crossing, found.complete) == (((),) * 4, (), False)
    monkeypatch.setattr(bodies, "_BUDGET", 1)
    assert not nested(*meshes[:3]).complete


def test_where_there_are_many_only_closed_ones_are_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    """An open surface is then nobody's."""
    monkeypatch.setattr(bodies, "_FEW_SURFACES", 1)
    torn = without(moved(box(5.0, 5.0, 5.0), 2.0, 2.0, 2.0), [0])
    whole = moved(box(1.0, 1.0, 1.0), 8.0, 8.0, 8.0)
    assert nested(box(10.0, 10.0, 10.0), torn, whole, open_=(1,)).holders == ((), (), (0,))
