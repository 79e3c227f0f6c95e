"""Steps along the edge between lines to and fro: by hand, and as drawn by the plain maker of toolpaths."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate, translate

from planner.geometry.planar import strokes_kernel as kernel
from planner.geometry.planar.polygon import rings_of
from planner.geometry.planar.regions import caps, caps_within
from tests.toolpaths.lines import raster

APART = 4.0


def steps(region: shapely.Geometry, apart: float = APART) -> float:
    return float(0.5 * (region.length - caps(np.array([region]), apart)[0]))


def drawn(region: shapely.Geometry, apart: float = APART) -> float:
    """Steps of strokes that are drawn at the same places: all of their length less the lines themselves."""
    total = 0.0
    for turn in (45.0, -45.0):
        low, high = rotate(region, -turn, origin=(0.0, 0.0)).bounds[1::2]
        many = kernel.places((high - low) / apart)
        for k in range(many):
            shift = (0.5 + k) / many
            lines = raster(region, apart, 0.0, turn, shift)
            laid = sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)
            total += (laid - _alone(region, apart, turn, shift)) / many
    return total / 2.0


def _alone(region: shapely.Geometry, apart: float, turn: float, shift: float) -> float:
    """Length of the lines without any step, cut out of long straight ones by the polygon library."""
    level = rotate(region, -turn, origin=(0.0, 0.0))
    low_x, low_y, high_x, high_y = level.bounds
    rows = (np.arange(np.floor(low_y / apart) - 1, np.ceil(high_y / apart) + 1) + shift) * apart
    long = [[(low_x - 1.0, y), (high_x + 1.0, y)] for y in rows]
    return float(level.intersection(shapely.multilinestrings(long)).length)


def diamond(side: float) -> shapely.Geometry:
    return rotate(shapely.box(0.0, 0.0, side, side), 45.0, origin=(0.0, 0.0))


def test_lines_along_two_sides_by_hand() -> None:
    """Ten lines 4 mm apart fill a square of 40 mm whose sides they follow: nine steps of 4 mm, anywhere."""
    assert steps(diamond(40.0)) == pytest.approx(36.0)
    assert steps(translate(diamond(40.0), 3.21, -17.0)) == pytest.approx(36.0)


def test_ends_too_far_apart_are_not_joined() -> None:
    """Lines 49 mm apart are joined, those 51 mm apart are not."""
    assert steps(diamond(98.0), 49.0) == pytest.approx(49.0)
    assert steps(diamond(102.0), 51.0) == 0.0


def test_regions_are_told_apart() -> None:
    """Two plates as one region have the steps of both; each alone has its own; an empty one has none."""
    one, other = diamond(40.0), translate(diamond(20.0), 200.0, 0.0)
    both = shapely.multipolygons([one, other])
    assert steps(both) == pytest.approx(36.0 + 16.0)
    regions = np.array([one, shapely.Polygon(), other])
    edges = shapely.length(regions)
    assert 0.5 * (edges - caps(regions, APART)) == pytest.approx([36.0, 0.0, 16.0])


PLATE = shapely.box(0.0, 0.0, 60.0, 35.0)
HOLES = shapely.union_all([shapely.Point(x, y).buffer(2.4) for x in range(8, 58, 7) for y in (6, 13, 29)])
SHAPES = {
    "square": shapely.box(0.0, 0.0, 40.0, 40.0),
    "frame": shapely.box(0.0, 0.0, 40.0, 40.0) - shapely.box(1.0, 1.0, 39.0, 39.0),
    "small opening": shapely.box(0.0, 0.0, 40.0, 40.0) - shapely.box(19.0, 19.0, 21.0, 21.0),
    "plate with holes": PLATE - HOLES,
    "fork": rotate(shapely.box(-8.0, 0.0, 8.0, 30.0) - shapely.box(-2.5, 12.0, 2.5, 31.0), 20.0),
    "island": (PLATE - shapely.box(10.0, 10.0, 50.0, 25.0)) | shapely.box(20.0, 14.0, 40.0, 21.0),
}


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("apart", [4.0, 1.7])
def test_as_lines_that_are_drawn(name: str, apart: float) -> None:
    """The same strokes as those of the plain maker; between ends equally near they may choose otherwise."""
    close = 0.01 if name == "plate with holes" else 1e-6
    assert steps(SHAPES[name], apart) == pytest.approx(drawn(SHAPES[name], apart), rel=close)


@settings(max_examples=20, deadline=None)
@given(
    points=st.lists(st.tuples(st.integers(0, 40), st.integers(0, 40)), min_size=3, max_size=8),
    hole=st.floats(1.0, 6.0),
)
def test_as_drawn_over_any_hull_with_an_opening(points: list[tuple[int, int]], hole: float) -> None:
    """Wedges, slivers and plates with a round opening in the middle."""
    hull = shapely.MultiPoint(points).convex_hull
    # on a grid: where an opening touches the edge within a rounding, the two makers see different regions
    region = shapely.set_precision(hull - hull.centroid.buffer(hole), 1e-6)
    if region.area > 1.0:
        assert steps(region, 2.3) == pytest.approx(drawn(region, 2.3), rel=0.03, abs=2.3)  # ends equally near


@pytest.mark.parametrize("name", ["square", "plate with holes", "island"])
def test_sections_whose_moved_rings_do_not_meet(name: str) -> None:
    """Moved by our own rule they have the caps of what the polygon library leaves."""
    rings = rings_of(shapely.simplify(SHAPES[name], 0.0))
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])]).astype(np.int64)
    plane, depth = np.array([0, len(rings)]), np.array([0.9])
    given = np.concatenate(rings), starts, plane, depth, APART
    own, library = caps_within(*given, np.array([False])), caps_within(*given, np.array([True]))
    left = SHAPES[name].buffer(-0.9, join_style="mitre").length  # ends of lines move with the corners of arcs
    assert left - own == pytest.approx(left - library, rel=0.02)
    assert own[0] != pytest.approx(caps(np.array([SHAPES[name]]), APART)[0], rel=1e-4)  # moved at all


def test_more_lines_than_can_be_drawn() -> None:
    """Beyond the limit every other stretch of the edge counts: a square of 4 km under lines 0.01 mm apart."""
    wide = shapely.box(0.0, 0.0, 4e6, 4e6)
    assert steps(wide, 0.01) == pytest.approx(0.5 * wide.length)
