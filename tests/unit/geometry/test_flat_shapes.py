"""Hulls, circles and areas of the polygon library, in the form that the search wants them."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from planner.geometry.planar.outline_offset import Patch, area, hull
from planner.geometry.planar.polygon import enclosing_circle, signed_area


def test_the_hull_begins_at_the_leftmost_lowest_corner_and_turns_left() -> None:
    """Whatever the order of the points: the same corners in the same order, none of them on a side."""
    square = [(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0), (0.0, 1.0), (1.0, 2.0)]
    for order in itertools.permutations(square, len(square)):
        found = hull(np.array(order))
        assert found.tolist() == [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]]


@pytest.mark.parametrize("seed", range(20))
def test_hull_and_circle_hold_every_point_and_touch_some(seed: int) -> None:
    """No point lies outside; the hull's corners are points; the circle cannot shrink."""
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(rng.integers(3, 40), 2)) @ np.array([[20.0, 4.0], [0.0, 3.0]])
    rim = hull(points)
    assert {tuple(p) for p in rim} <= {tuple(p) for p in points}
    for a, b in zip(rim, np.roll(rim, -1, axis=0), strict=True):
        side = (b[0] - a[0]) * (points[:, 1] - a[1]) - (b[1] - a[1]) * (points[:, 0] - a[0])
        assert side.min() > -1e-9
    centre, radius = enclosing_circle(points)
    away = np.hypot(*(points - centre).T)
    assert away.max() == pytest.approx(radius)
    on_it = np.sort(np.arctan2(*(points - centre)[away > radius - 1e-6 * radius].T))
    gaps = np.diff(np.append(on_it, on_it[0] + 2.0 * np.pi))
    assert gaps.max() <= np.pi + 1e-4  # a gap of more than half the rim would let it move and shrink


def test_areas_by_hand() -> None:
    """A triangle of 3 by 4 far from the origin covers 6; less an opening of 1 by 1 it covers 5."""
    triangle = np.array([[1e4, 1e4], [1e4 + 3.0, 1e4], [1e4, 1e4 + 4.0]])
    assert signed_area(triangle) == 6.0
    assert signed_area(triangle[::-1]) == -6.0
    opening = np.array([[0.2, 0.2], [0.2, 1.2], [1.2, 1.2], [1.2, 0.2]]) + 1e4
    assert area(Patch(triangle, (opening,))) == pytest.approx(5.0)
