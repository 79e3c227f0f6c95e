"""Bands along outlines: what they leave and how long they run, against the polygon library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.geometry.sections.band_kernel import (
    CORE,
    CORE_LENGTH,
    DOUBLED,
    HOP_WAY,
    HOPS,
    INNER,
    INNER_LENGTH,
    PATH,
    THIN,
    THIN_LENGTH,
    THIN_X,
    THIN_Y,
    bands,
    body_mm,
)
from tests.unit.geometry.section_rings import packed

PITCH, NARROW = 0.5, 0.2
SQUARE = shapely.box(0.0, 0.0, 20.0, 20.0)
FRAME = SQUARE.difference(shapely.box(6.0, 6.0, 14.0, 14.0))


def rows(
    regions: list[shapely.Geometry], counts: int | list[int], rim: float = 0.0, apart: float = 0.1
) -> np.ndarray:
    """The table of bands, one row a region."""
    numbers = np.array([counts] * len(regions) if isinstance(counts, int) else counts, dtype=np.int64)
    points, starts, plane = packed(regions)
    return bands(points, starts, plane, numbers, rim, PITCH, NARROW, apart)


def inset(region: shapely.Geometry, depth: float) -> shapely.Geometry:
    return region.buffer(-depth, join_style="mitre")


@pytest.mark.parametrize(
    "region", [SQUARE, FRAME, affinity.rotate(FRAME, 20.0)], ids=["square", "frame", "askew"]
)
@pytest.mark.parametrize("count", [1, 2, 4])
def test_bands_of_wide_regions(region: shapely.Geometry, count: int) -> None:
    """Centre lines in the middle of their band; what is left; the core half a band deeper."""
    (row,) = rows([region], count, rim=0.1)
    path = sum(inset(region, 0.1 + (b + 0.5) * PITCH).length for b in range(count))
    left, core = inset(region, 0.1 + count * PITCH), inset(region, 0.1 + (count + 0.5) * PITCH)
    assert row[PATH] == pytest.approx(path, rel=1e-6)
    assert row[INNER] == pytest.approx(left.area, rel=1e-6)
    assert row[INNER_LENGTH] == pytest.approx(left.length, rel=1e-6)
    assert row[CORE] == pytest.approx(core.area, rel=1e-6)
    assert row[CORE_LENGTH] == pytest.approx(core.length, rel=0.02)
    assert row[[THIN, THIN_LENGTH, HOPS, DOUBLED]] == pytest.approx([0.0] * 4, abs=1e-6)


def test_no_bands_leave_the_whole() -> None:
    """And no path."""
    (row,) = rows([FRAME], 0)
    assert row[[INNER, INNER_LENGTH, PATH]] == pytest.approx([FRAME.area, FRAME.length, 0.0])
    assert row[CORE] == pytest.approx(inset(FRAME, 0.5 * PITCH).area)


def test_sections_have_rows_of_their_own() -> None:
    """Different numbers of bands, one section without any ring."""
    table = rows([SQUARE, shapely.Polygon(), FRAME], [2, 2, 0])
    assert table[0, INNER] == pytest.approx(18.0**2)
    assert table[1].tolist() == [0.0] * table.shape[1]
    assert table[2, INNER] == pytest.approx(FRAME.area)


def test_a_wall_of_two_beads_leaves_nothing() -> None:
    """A frame whose wall is 1 mm: one bead along either side, and no inside."""
    wall = SQUARE.difference(shapely.box(1.0, 1.0, 19.0, 19.0))
    (row,) = rows([wall], 1, apart=0.05)
    assert row[PATH] == pytest.approx(4 * 19.5 + 4 * 18.5, rel=0.01)
    assert row[INNER] == pytest.approx(0.0, abs=0.5)


def test_a_wall_of_one_bead_runs_along_its_middle() -> None:
    """0.6 mm thick: narrower than two beads, wider than the least one; half of its outline is the path."""
    strip = shapely.box(0.0, 0.0, 40.0, 0.6)
    (row,) = rows([strip], 2, apart=0.05)
    assert row[PATH] == pytest.approx(40.0, rel=0.04)
    assert row[INNER] == 0.0
    assert row[THIN_LENGTH] == pytest.approx(0.0, abs=2.5)


def test_what_is_thinner_than_the_least_bead_is_not_printed() -> None:
    """A fin of 0.3 mm on a block: its area and both of its sides are lost, and its place is told."""
    fin = SQUARE.union(shapely.box(20.0, 9.85, 50.0, 10.15))
    (row,) = rows([fin], 1, apart=0.05)
    assert row[THIN] == pytest.approx(30.0 * 0.3, rel=0.1)
    assert row[THIN_LENGTH] == pytest.approx(60.0, rel=0.05)
    assert 25.0 < row[THIN_X] < 45.0
    assert row[THIN_Y] == pytest.approx(10.0, abs=0.5)
    assert row[PATH] == pytest.approx(4 * 19.5, rel=0.03)
    (sound,) = rows([SQUARE.union(shapely.box(20.0, 9.75, 50.0, 10.25))], 1, apart=0.05)
    assert sound[THIN] == pytest.approx(0.0, abs=0.1)
    assert sound[PATH] > row[PATH] + 25.0


def test_places_of_single_beads_are_hopped_between() -> None:
    """Two thin webs, 30 mm apart, between two blocks: one hop between their middles."""
    body = shapely.union_all(
        [
            shapely.box(0, 0, 60, 10),
            shapely.box(0, 30, 60, 40),
            shapely.box(14.75, 9, 15.25, 31),
            shapely.box(44.75, 9, 45.25, 31),
        ]
    )
    (row,) = rows([body], 1, apart=0.05)
    assert row[HOPS] == 1.0
    assert row[HOP_WAY] == pytest.approx(30.0, abs=1.5)


def test_bodies_that_overlap_are_doubled() -> None:
    """Two squares that share a quarter: what is covered twice, by coarse lines."""
    points, starts, plane = packed([SQUARE])
    both = np.concatenate([points, points + 10.0])
    ring_starts = np.array([0, 4, 8], dtype=np.int64)
    row = bands(both, ring_starts, np.array([0, 2], dtype=np.int64), np.array([1]), 0.0, PITCH, NARROW, 0.1)[
        0
    ]
    assert row[DOUBLED] == pytest.approx(100.0, rel=0.05)
    alone = bands(points, starts, plane, np.array([1]), 0.0, PITCH, NARROW, 0.1)[0]
    assert alone[DOUBLED] == 0.0


@settings(max_examples=20, deadline=None)
@given(
    radii=st.lists(st.floats(12.0, 20.0), min_size=5, max_size=12),
    count=st.integers(1, 3),
    turn=st.floats(0.0, 360.0),
)
def test_any_wide_star(radii: list[float], count: int, turn: float) -> None:
    """Area left to a thousandth, path to half a per cent of what the library offsets."""
    angle = np.arange(len(radii)) * (2.0 * np.pi / len(radii))
    star = shapely.Polygon(np.array(radii)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]))
    star = affinity.rotate(star, turn)
    (row,) = rows([star], count)
    path = sum(inset(star, (b + 0.5) * PITCH).length for b in range(count))
    assert row[PATH] == pytest.approx(path, rel=5e-3)
    assert row[INNER] == pytest.approx(inset(star, count * PITCH).area, rel=1e-3)
    assert row[CORE] <= row[INNER]


def test_how_wide_bodies_are() -> None:
    """The diagonal; of two the mean by their areas; openings do not count."""
    points, starts, plane = packed([FRAME, shapely.union_all([SQUARE, shapely.box(40.0, 0.0, 43.0, 4.0)])])
    assert body_mm(points, starts, plane[0], plane[1]) == pytest.approx(math.hypot(20.0, 20.0))
    wanted = (400.0 * math.hypot(20.0, 20.0) + 12.0 * 5.0) / 412.0
    assert body_mm(points, starts, plane[1], plane[2]) == pytest.approx(wanted)
    assert body_mm(points, starts, 0, 0) == 0.0
