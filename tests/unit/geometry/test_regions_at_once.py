"""Regions of many sections made at once, against the polygon library ring by ring."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner.geometry.planar.ragged import picked, stretches
from planner.geometry.planar.regions import region_of, regions_of


def square(x: float, y: float, half: float, *, hole: bool = False) -> np.ndarray:
    ring = np.array([(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)])
    return ring[::-1] if hole else ring


SECTIONS = [
    [square(0, 0, 10)],
    [],
    [square(0, 0, 3, hole=True), square(0, 0, 10), square(30, 0, 5), square(30, 0, 2, hole=True)],
    [square(0, 0, 10), square(0, 0, 8, hole=True), square(0, 0, 4), square(0, 0, 1, hole=True)],
    [square(5, 5, 2, hole=True)],
    [square(0, 0, 4), square(50, 0, 1, hole=True)],
    [square(0, 0, 4), np.array([(0.0, 0.0), (1.0, 1.0)])],
]
AREAS = [400.0, 0.0, 400.0 - 36.0 + 100.0 - 16.0, 400.0 - 256.0 + 64.0 - 4.0, 0.0, 64.0, 64.0]


def packed(sections: list[list[np.ndarray]]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rings = [ring for section in sections for ring in section]
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])]).astype(np.int64)
    plane = np.concatenate([[0], np.cumsum([len(section) for section in sections])]).astype(np.int64)
    return np.concatenate(rings), starts, plane


def test_areas_by_hand() -> None:
    """Holes in the smallest ring around them, islands in holes; strays, two points and none leave nothing."""
    regions = regions_of(*packed(SECTIONS), 0.0)
    assert shapely.area(regions) == pytest.approx(AREAS)
    assert shapely.is_valid(regions).all()


@pytest.mark.parametrize("q", range(len(SECTIONS)))
def test_one_as_among_many(q: int) -> None:
    """The order of rings and the sections beside it change nothing."""
    many = regions_of(*packed(SECTIONS), 0.0)[q]
    assert shapely.equals(region_of(SECTIONS[q], 0.0), many)
    assert shapely.equals(region_of(SECTIONS[q][::-1], 0.0), many)


def test_fewer_points_within_what_is_allowed() -> None:
    """A circle of 400 points, simplified within 0.1 mm, stays within that of itself."""
    turn = np.linspace(0.0, 2.0 * np.pi, 400, endpoint=False)
    ring = 20.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    exact, rough = region_of([ring], 0.0), region_of([ring], 0.1)
    assert shapely.get_num_coordinates(rough) < 60 < shapely.get_num_coordinates(exact)
    assert shapely.hausdorff_distance(exact.exterior if exact.geom_type == "Polygon" else exact, rough) <= 0.1


def test_corners_that_touch_are_parted() -> None:
    """Two squares that share a corner in one ring make a valid region of both."""
    bow = np.array([(0, 0), (4, 0), (4, 4), (8, 4), (8, 8), (4, 8), (4, 4), (0, 4)], dtype=np.float64)
    region = region_of([bow], 0.0)
    assert shapely.is_valid(region)
    assert region.area == pytest.approx(32.0)


def test_stretches_by_hand() -> None:
    """Rows 0-1, 2-4, 5 of three: the last and the first, in that order."""
    at, ends = stretches(np.array([0, 2, 5, 6]), np.array([2, 0]))
    assert at.tolist() == [5, 0, 1]
    assert ends.tolist() == [0, 1, 3]


def test_picked_sections_keep_their_rings() -> None:
    """Two sections of the seven, the later first, with all of their points."""
    points, starts, plane = packed(SECTIONS)
    some = picked(points, starts, plane, np.array([3, 0]))
    assert shapely.area(regions_of(*some, 0.0)) == pytest.approx([AREAS[3], AREAS[0]])
    assert some[2].tolist() == [0, 4, 5]
