"""Whether two bodies share more than a skin, by hand."""

from __future__ import annotations

import pytest

from planner.geometry.assembly.overlap_depth import mean_wall, share_deeply
from planner.geometry.mesh.mesh import TriangleMesh
from planner.geometry.mesh.overlap import Surface
from tests.builders import box, inward, joined, moved, tube

PLENTY = 10_000_000


def deep(first: TriangleMesh, second: TriangleMesh) -> bool:
    """Whether they share more than a skin, and so the other way round."""
    pair = (first, second)
    found = [
        share_deeply(*map(Surface.of, (a.triangles, b.triangles)), (mean_wall(a), mean_wall(b)), PLENTY)[0]
        for a, b in (pair, pair[::-1])
    ]
    assert found[0] == found[1]
    return found[0]


@pytest.mark.parametrize("axis", ["x", "y", "z"])
@pytest.mark.parametrize(
    ("by_mm", "more"), [(0.0, False), (0.01, False), (0.4, False), (0.9, True), (5.0, True)]
)
def test_solid_boxes_may_share_half_a_millimetre(axis: str, by_mm: float, more: bool) -> None:
    """Two boxes of 20 mm side by side that reach into each other."""
    assert deep(box(20.0, 20.0, 20.0), moved(box(20.0, 18.0, 19.0), **{axis: 20.0 - by_mm})) is more


def test_a_skin_that_lies_in_a_skin_shares_all_it_has() -> None:
    """A wall of 0.6 mm in another by 0.4 mm: less than half a millimetre, and most of the wall."""
    wall = box(60.0, 40.0, 0.6)
    assert mean_wall(wall) == pytest.approx(0.6, rel=0.03)
    assert deep(wall, moved(wall, 5.0, 3.0, 0.2))
    assert not deep(wall, moved(wall, 5.0, 3.0, 0.55))


def test_a_body_within_the_room_of_another_shares_nothing() -> None:
    """A rod in a tube, a box in a hollow one; within the material it does."""
    assert not deep(tube(40.0, 36.0, 60.0), moved(box(10.0, 10.0, 30.0), -5.0, -5.0, 5.0))
    hollow = joined(box(30.0, 30.0, 30.0), inward(moved(box(20.0, 20.0, 20.0), 5.0, 5.0, 5.0)))
    assert not deep(hollow, moved(box(10.0, 10.0, 10.0), 10.0, 10.0, 10.0))
    assert deep(box(30.0, 30.0, 30.0), moved(box(10.0, 10.0, 10.0), 10.0, 10.0, 10.0))
