"""Points and boxes against outlines, compiled, against the same questions asked of shapely."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import Point, Polygon, box

from planner.report.drawings.label_kernel import boxes_about, first_away, first_inside, roomiest_of

SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
# A horseshoe: 12 wide, 10 high, arms of 4, open at its top over a floor of 3.
HORSESHOE = np.array(
    [[0.0, 0.0], [12.0, 0.0], [12.0, 10.0], [8.0, 10.0], [8.0, 3.0], [4.0, 3.0], [4.0, 10.0], [0.0, 10.0]]
)
NONE = np.empty((0, 2))


def star(seed: int) -> NDArray[np.float64]:
    """A ring with dents about the origin, of 5 to 60 corners; it never crosses itself."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(5, 60))
    turn = 2.0 * np.pi * np.arange(count) / count
    reach = rng.uniform(2.0, 10.0, count)
    return np.column_stack([reach * np.cos(turn), reach * np.sin(turn)])


def rim(width: float, height: float) -> NDArray[np.float64]:
    """Points of the edge of a box about the origin, four to the millimetre."""
    x, y = (
        np.linspace(-0.5, 0.5, int(4 * width) + 1) * width,
        np.linspace(-0.5, 0.5, int(4 * height) + 1) * height,
    )
    sides = [np.column_stack([x, np.full_like(x, s * height / 2)]) for s in (-1, 1)]
    sides += [np.column_stack([np.full_like(y, s * width / 2), y]) for s in (-1, 1)]
    return np.concatenate(sides)


def test_the_roomiest_point_of_a_square_is_its_middle() -> None:
    """Five from every side; of points that are as good the first counts; points outside do not."""
    grid = np.array([[2.0, 2.0], [5.0, 5.0], [5.0, 5.0], [8.0, 3.0], [50.0, 50.0]])
    assert roomiest_of(SQUARE, grid) == (1, 5.0)
    assert roomiest_of(SQUARE, np.array([[-1.0, 5.0], [5.0, 11.0]])) == (-1, -1.0)
    assert roomiest_of(SQUARE, np.array([[9.0, 4.0]])) == (0, 1.0)


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000))
def test_the_roomiest_point_is_that_of_plain_distances(seed: int) -> None:
    """Nowhere inside is farther from the outline, by the distances of shapely."""
    ring = star(seed)
    grid = np.random.default_rng(seed + 1).uniform(-10.0, 10.0, (60, 2))
    shape = Polygon(ring)
    rooms = [shape.exterior.distance(Point(p)) if shape.contains(Point(p)) else -1.0 for p in grid]
    best, room = roomiest_of(ring, grid)
    assert room == pytest.approx(max(rooms), abs=1e-9)
    assert best == (-1 if max(rooms) < 0.0 else int(np.argmax(rooms)))


def test_a_box_lies_in_an_arm_and_not_across_the_gap() -> None:
    """The middle of the box of a horseshoe is outside of it."""
    centres = np.array([[6.0, 6.0], [2.0, 6.0], [10.0, 6.0], [6.0, 1.5]])
    assert first_inside(HORSESHOE, centres, rim(3.0, 6.0)) == 1
    assert first_inside(HORSESHOE, centres, rim(6.0, 2.5)) == 3
    assert first_inside(HORSESHOE, centres, rim(6.0, 6.0)) == -1
    assert first_inside(HORSESHOE, centres[:1], rim(1.0, 1.0)) == -1


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), width=st.floats(0.5, 6.0), height=st.floats(0.5, 3.0))
def test_a_box_whose_rim_lies_inside_does(seed: int, width: float, height: float) -> None:
    """The first centre that is taken holds every point of the rim; those before it do not."""
    ring, edge = star(seed), rim(width, height)
    centres = np.random.default_rng(seed).uniform(-4.0, 4.0, (12, 2))
    shape = Polygon(ring)
    held = [all(shape.contains(Point(c + p)) for p in edge) for c in centres]
    assert first_inside(ring, centres, edge) == (held.index(True) if any(held) else -1)


def test_boxes_about_several_outlines() -> None:
    """Left, low, right, high; each of its own corners only."""
    corners = np.concatenate([SQUARE, HORSESHOE + np.array([20.0, -5.0]), SQUARE - 30.0])
    starts = np.array([0, 4, 12, 16], dtype=np.int64)
    assert boxes_about(corners, starts).tolist() == [
        [0.0, 0.0, 10.0, 10.0],
        [20.0, -5.0, 32.0, 5.0],
        [-30.0, -30.0, -20.0, -20.0],
    ]


def _away(places: list[list[float]], taken: NDArray[np.float64] = NONE, gap: float = 2.0) -> int:
    corners = np.concatenate([SQUARE, HORSESHOE + np.array([20.0, 0.0])])
    starts = np.array([0, 4, 12], dtype=np.int64)
    return int(first_away(np.array(places), corners, starts, boxes_about(corners, starts), taken, gap))


@pytest.mark.parametrize(
    ("place", "free"),
    [
        ([5.0, 5.0], False),  # inside
        ([11.9, 5.0], False),  # beside, too near
        ([12.0, 5.0], True),  # just far enough
        ([11.5, 11.5], True),  # off a corner: the root of 4.5 is more than 2
        ([11.3, 11.3], False),
        ([26.0, 8.0], True),  # in the gap of the horseshoe, two from both arms
        ([26.3, 8.0], False),
        ([26.0, 4.9], False),  # too near to its floor
    ],
)
def test_a_place_keeps_its_gap_from_outlines(place: list[float], free: bool) -> None:
    assert _away([place]) == (0 if free else -1)


def test_a_place_keeps_twice_its_gap_from_what_is_taken() -> None:
    """Both are round, of the gap for radius; the first that is free is taken."""
    taken = np.array([[15.0, -5.0]])
    assert _away([[15.0, -1.1], [15.0, -1.0]], taken) == 1
    assert _away([[15.0, -1.1]], taken) == -1
    assert _away([[5.0, 5.0], [100.0, 100.0], [101.0, 100.0]]) == 1


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), gap=st.floats(0.1, 3.0))
def test_a_free_place_is_free_by_shapely(seed: int, gap: float) -> None:
    ring = star(seed)
    places = np.random.default_rng(seed).uniform(-14.0, 14.0, (20, 2))
    starts = np.array([0, len(ring)], dtype=np.int64)
    shape = Polygon(ring)
    rooms = [shape.distance(Point(p)) for p in places]
    if min(abs(room - gap) for room in rooms) < 1e-9:
        return  # on the edge: either answer is right
    free = [room > gap for room in rooms]
    found = first_away(places, ring, starts, boxes_about(ring, starts), NONE, gap)
    assert found == (free.index(True) if any(free) else -1)
    assert box(*boxes_about(ring, starts)[0]).equals(box(*shape.bounds))
