"""Cut segments joined to rings, by hand and against the polygon library, and rings freed of idle points."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from planner.geometry.planar.rings_kernel import (
    GAP_LENGTH,
    GAPS,
    KEPT_AREA,
    KEPT_LENGTH,
    OUTERS,
    RAW_AREA,
    RAW_LENGTH,
    RINGS,
    join,
    thinned,
)

Floats = NDArray[np.float64]
SQUARE = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
HOLE = np.array([[2.0, 2.0], [2.0, 5.0], [6.0, 5.0], [6.0, 2.0]])


def sides(*rings: Floats) -> Floats:
    return np.concatenate([np.hstack([ring, np.roll(ring, -1, axis=0)]) for ring in rings])


def joined(*planes: Floats, eps: float = 0.002, seed: int = 1) -> tuple[list[list[Floats]], Floats]:
    """Rings of every plane and the table of sums; the segments of a plane come in any order."""
    rng = np.random.default_rng(seed)
    mixed = [plane[rng.permutation(len(plane))] for plane in planes]
    seg = np.ascontiguousarray(np.concatenate(mixed)) if planes else np.empty((0, 4))
    starts = np.concatenate([[0], np.cumsum([len(plane) for plane in planes])]).astype(np.int64)
    points, ring_starts, plane, sums = join(seg, seg.view(np.int64), starts, eps)
    rings = [points[a:b] for a, b in itertools.pairwise(ring_starts)]
    return [rings[a:b] for a, b in itertools.pairwise(plane)], sums


def test_a_square_with_an_opening() -> None:
    """Areas add up with their signs; two rings, one of them outer; no gap."""
    ((one, other),), sums = joined(sides(SQUARE, HOLE))
    assert sorted(shapely.Polygon(ring).area for ring in (one, other)) == [12.0, 100.0]
    row = sums[0]
    assert row[[RAW_AREA, KEPT_AREA]] == pytest.approx([88.0, 88.0])
    assert row[[RAW_LENGTH, KEPT_LENGTH]] == pytest.approx([54.0, 54.0])
    assert row[[OUTERS, RINGS, GAPS, GAP_LENGTH]].tolist() == [1.0, 2.0, 0.0, 0.0]


def test_planes_keep_their_own() -> None:
    """An empty plane between two; what is equal in two planes is not joined across them."""
    (first, none, second), sums = joined(sides(SQUARE), np.empty((0, 4)), sides(SQUARE + 0.5, SQUARE + 30.0))
    assert [len(first), len(none), len(second)] == [1, 0, 2]
    assert sums[:, RAW_AREA].tolist() == pytest.approx([100.0, 0.0, 200.0])


def test_a_flipped_segment_is_turned() -> None:
    """One facet with its corners the wrong way round: the ring closes exactly all the same."""
    broken = sides(SQUARE)
    broken[2] = broken[2, [2, 3, 0, 1]]
    (rings,), sums = joined(broken)
    assert len(rings) == 1
    assert sums[0, RAW_AREA] == pytest.approx(100.0)
    assert sums[0, GAPS] > 0.0
    assert sums[0, GAP_LENGTH] == 0.0


def test_a_missing_side_is_closed_straight() -> None:
    """The gap of 10 mm is told, the area is that of the square."""
    (rings,), sums = joined(sides(SQUARE)[:3])
    assert len(rings) == 1
    assert sums[0, RAW_AREA] == pytest.approx(100.0)
    assert sums[0, GAP_LENGTH] == pytest.approx(10.0)


def test_ends_that_miss_by_rounding_are_joined_to_the_nearest() -> None:
    """Every end off by a hundredth of a micrometre: the same two rings."""
    rng = np.random.default_rng(3)
    shaken = sides(SQUARE, HOLE) + rng.uniform(-1e-5, 1e-5, (8, 4))
    (rings,), sums = joined(shaken)
    assert len(rings) == 2
    assert sums[0, RAW_AREA] == pytest.approx(88.0, abs=1e-3)
    assert sums[0, GAPS] == 8.0


@settings(max_examples=40, deadline=None)
@given(
    corners=st.integers(3, 40),
    split=st.integers(1, 4),
    seed=st.integers(0, 999),
    shift=st.floats(-500.0, 500.0),
)
def test_any_star_comes_back(corners: int, split: int, seed: int, shift: float) -> None:
    """Sides cut in pieces and mixed: one ring, area and length of the polygon library, idle points gone."""
    rng = np.random.default_rng(seed)
    angle = (np.arange(corners) + rng.uniform(0.1, 0.9, corners)) * (2.0 * np.pi / corners)
    star = rng.uniform(4.0, 20.0, corners)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]) + shift
    shares = np.arange(split)[:, None] / split
    fine = np.concatenate(
        [a + shares * (b - a) for a, b in zip(star, np.roll(star, -1, axis=0), strict=True)]
    )
    (rings,), sums = joined(sides(fine), seed=seed)
    whole = shapely.Polygon(fine)
    (ring,) = rings
    assert sums[0, RAW_AREA] == pytest.approx(
        shapely.Polygon(star).area * (1 if shapely.LinearRing(fine).is_ccw else -1), abs=1e-6
    )
    assert sums[0, RAW_LENGTH] == pytest.approx(whole.length, abs=1e-6)
    assert len(ring) <= corners
    kept = shapely.Polygon(ring)
    assert shapely.hausdorff_distance(kept.exterior, whole.exterior) <= 0.0021
    assert sums[0, KEPT_AREA] == pytest.approx(sums[0, RAW_AREA], abs=0.002 * whole.length)


def test_nothing_at_all() -> None:
    rings, sums = joined(np.empty((0, 4)))
    assert rings == [[]]
    assert sums.tolist() == [[0.0] * 8]


def thin(ring: Floats, eps: float) -> Floats:
    points, starts = thinned(np.ascontiguousarray(ring), np.array([0, len(ring)], dtype=np.int64), eps)
    assert starts.tolist() == [0, len(points)]
    return points


def test_points_on_a_side_are_left_out_and_corners_stay() -> None:
    """Wherever the ring begins."""
    fine = np.concatenate(
        [
            a + np.arange(5)[:, None] / 5 * (b - a)
            for a, b in zip(SQUARE, np.roll(SQUARE, -1, axis=0), strict=True)
        ]
    )
    for first in range(len(fine)):
        kept = thin(np.roll(fine, first, axis=0), 0.002)
        assert sorted(map(tuple, kept)) == sorted(map(tuple, SQUARE))
        assert shapely.LinearRing(kept).is_ccw


def test_a_circle_keeps_as_many_points_as_the_depth_of_its_chords_asks() -> None:
    """Radius 20 within 0.1: a chord 0.1 deep spans 2 acos(1 - 0.1 / 20); no point is further away."""
    angle = np.arange(2000) * (2.0 * np.pi / 2000)
    circle = 20.0 * np.column_stack([np.cos(angle), np.sin(angle)])
    kept = thin(circle, 0.1)
    least = 2.0 * np.pi / (2.0 * np.arccos(1.0 - 0.1 / 20.0))
    assert least / 2.0 <= len(kept) <= 2.0 * least
    line = shapely.LinearRing(kept)
    assert shapely.distance(line, shapely.points(circle)).max() <= 0.1 + 1e-9


def test_a_spike_is_no_straight_line() -> None:
    """Out and back along the same line: its tip stays."""
    spike = np.array(
        [[0.0, 0.0], [10.0, 0.0], [10.0, 4.0], [30.0, 4.0], [10.0, 4.001], [10.0, 8.0], [0.0, 8.0]]
    )
    assert [30.0, 4.0] in thin(spike, 0.002).tolist()


def test_several_rings_keep_their_starts() -> None:
    both = np.ascontiguousarray(np.concatenate([SQUARE, HOLE]))
    points, starts = thinned(both, np.array([0, 4, 8], dtype=np.int64), 0.01)
    assert starts.tolist() == [0, 4, 8]
    assert sorted(map(tuple, points[4:])) == sorted(map(tuple, HOLE))
