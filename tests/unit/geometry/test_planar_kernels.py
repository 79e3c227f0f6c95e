"""Compiled loops over segments of the plane against the polygon library and closed forms."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray

from planner.geometry.planar.contour_kernel import outlines
from planner.geometry.planar.inset_kernel import offset, plain, read, scan, settled, shoelace
from planner.geometry.planar.stitch_kernel import near, stitch
from planner.geometry.planar.stretch_kernel import traced

Floats = NDArray[np.float64]
RECTANGLE = np.array([[0.0, 0.0], [8.0, 0.0], [8.0, 5.0], [0.0, 5.0]])


def star(rng: np.random.Generator, corners: int) -> Floats:
    angles = np.sort(rng.uniform(0.0, 2.0 * np.pi, corners))
    return (10.0 + rng.random(corners))[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])


def inset_area(ring: Floats, depth: float) -> float:
    """Area of a ring moved inward, read as the estimate reads it."""
    out = np.empty((2 * len(ring) + 8, 6))
    starts = np.array([0, len(ring)])
    count = offset(ring, starts, 0, 1, depth, out) if depth else plain(ring, starts, 0, 1, out)[0]
    if count == 0:
        return 0.0
    low, high = out[:count, [1, 3]].min(), out[:count, [1, 3]].max()
    rows, gap = 2000, (high - low) / 2000
    row = np.empty(rows + 1, np.int64)
    where, tag = scan(out, count, low + gap / 2.0, gap, rows, row)
    plus, minus, more, _ = read(out, count, gap, rows, row, where, tag, np.zeros((count, 2)))
    return float(settled(shoelace(out, count)[0], plus, minus, more))


@pytest.mark.parametrize("seed", range(6))
def test_an_inset_of_a_round_star_covers_what_the_polygon_library_says(seed: int) -> None:
    """Stars of many corners; notches are moved with their tips, up to a turn of 105 degrees."""
    ring = star(np.random.default_rng(seed), 30)
    whole = shapely.Polygon(ring)
    assert inset_area(ring, 0.0) == pytest.approx(whole.area, rel=1e-9)
    for depth in (0.4, 1.0):
        moved = whole.buffer(-depth, join_style="mitre", mitre_limit=1.0 / np.cos(np.radians(52.5)))
        assert inset_area(ring, depth) == pytest.approx(moved.area, rel=2e-3)


def test_an_inset_of_a_rectangle_by_hand() -> None:
    """8 by 5 moved inward by 1 leaves 6 by 3; by more than half of its width it leaves nothing."""
    assert inset_area(RECTANGLE, 1.0) == pytest.approx(18.0)
    assert inset_area(RECTANGLE, 2.6) == pytest.approx(0.0, abs=1e-6)


def test_stretches_of_two_bars_have_their_outlines() -> None:
    """Bars of 4 and 2 by ten lines, 0.1 apart, beside each other; the small one is left out where asked."""
    rows, gap = 10, 0.1
    begin = np.arange(0, 2 * rows + 1, 2)
    a, b = np.tile([0.0, 6.0], rows), np.tile([4.0, 8.0], rows)
    length, parts = traced(rows, begin, a, b, gap, 0.0)
    assert parts == 2
    assert length == pytest.approx(2 * (4 + 2) + 4 * (rows - 1) * gap, abs=4 * gap + 1e-9)
    assert traced(rows, begin, a, b, gap, 3.0)[1] == 1


def test_open_ends_are_joined_within_reach_and_then_by_the_shortest_gaps() -> None:
    """A square whose corners are torn by 0.01, and by a wide gap at one of them."""
    corners = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    seg = np.hstack([corners, np.roll(corners, -1, axis=0)])
    seg[:, 2:] += 0.006
    seg[3, 2:] = [0.0, 2.0]
    following, preceding = np.full(4, -1, np.int64), np.full(4, -1, np.int64)
    assert near(seg, 0, 4, following, preceding, 0.02) == 1
    assert following.tolist() == [1, 2, 3, -1]
    stitch(seg, 0, 4, following, preceding, 1)
    assert following.tolist() == [1, 2, 3, 0]
    assert preceding.tolist() == [3, 0, 1, 2]


def test_outlines_of_marked_cells_are_closed_and_keep_their_area() -> None:
    """Two patches, one with an opening: every end is a start, and the area is that of the cells, nearly."""
    marks = np.zeros((1, 40, 30), np.uint8)
    marks[0, 4:20, 5:25] = 1
    marks[0, 9:15, 10:20] = 0
    marks[0, 26:36, 8:22] = 1
    seg, starts = outlines(marks.reshape(1, -1), 1, 40, 30, 0.5, 100.0, 200.0)
    sides = seg[starts[0] : starts[1]]
    assert sorted(map(tuple, sides[:, :2])) == sorted(map(tuple, sides[:, 2:]))
    area = 0.5 * float((sides[:, 0] * sides[:, 3] - sides[:, 2] * sides[:, 1]).sum())
    assert area == pytest.approx(0.25 * marks.sum(), rel=0.03)
    low, high = sides.reshape(-1, 2).min(axis=0), sides.reshape(-1, 2).max(axis=0)
    assert low == pytest.approx([100.0 + 2.0, 200.0 + 2.5], abs=0.5)
    assert high == pytest.approx([100.0 + 18.0, 200.0 + 12.5], abs=0.5)
