"""What sections above and below leave bare, and of which kind it is, against the polygon library."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.geometry.sections.cover_kernel import (
    BARE,
    BARE_EDGE,
    BARE_X,
    BARE_Y,
    EDGE,
    HELD_EDGE,
    HELD_PARTS,
    PARTS,
    REGION,
    bare,
    held_spans,
    room,
)
from planner.geometry.sections.face_kernel import AIR, LINES, REST, TOP, faces
from planner.geometry.sections.face_kernel import REGION as WHOLE
from tests.unit.geometry.section_rings import lines, packed, segments

GAP = 0.05
WIDE = shapely.box(0.0, 0.0, 20.0, 10.0)
LEFT, RIGHT = shapely.box(0.0, 0.0, 8.0, 10.0), shapely.box(8.0, 0.0, 20.0, 10.0)


def looked(
    layers: list[shapely.Geometry], levels: list[int], above: int, below: int, depth: float = 0.0
) -> np.ndarray:
    """Rows of covers of some layers of a stack."""
    regions = [layers[level] for level in levels]
    depths = np.full(len(levels), depth)
    held = np.arange(len(layers), dtype=np.int64)
    return bare(
        *packed(regions), depths, np.array(levels, dtype=np.int64), above, below, *segments(layers), held,
        *lines(layers, GAP), 0.25,
    )  # fmt: skip


def kinds(
    layers: list[shapely.Geometry], levels: list[int], above: int, below: int, *, sparse: bool = True
) -> np.ndarray:
    regions = [layers[level] for level in levels]
    held = np.arange(len(layers), dtype=np.int64)
    return faces(
        *packed(regions), np.zeros(len(levels)), np.array(levels, dtype=np.int64), above, below,
        *segments(layers), held, *lines(layers, GAP), sparse,
    )  # fmt: skip


def test_a_layer_under_a_step_is_bare_where_the_step_is() -> None:
    """Two layers: what the upper one does not cover, with its middle; what is held is one part."""
    (row,) = looked([WIDE, WIDE, LEFT, LEFT], [1], 1, 0)
    assert row[REGION] == pytest.approx(200.0, rel=1e-3)
    assert row[BARE] == pytest.approx(120.0, rel=1e-3)
    assert row[[BARE_X, BARE_Y]] / row[BARE] == pytest.approx([14.0, 5.0], abs=0.02)
    assert row[[EDGE, HELD_EDGE]] == pytest.approx([60.0, 36.0], rel=0.03)
    assert row[[PARTS, HELD_PARTS]].tolist() == [1.0, 1.0]
    assert 0.0 < row[BARE_EDGE] <= 1.0


@pytest.mark.parametrize(
    ("above", "below", "share"), [(1, 0, 0.0), (2, 0, 0.6), (3, 0, 0.6), (0, 1, 0.0), (1, 1, 0.0)]
)
def test_as_many_layers_as_asked_must_hold(above: int, below: int, share: float) -> None:
    """The step comes two layers above: one layer sees nothing of it."""
    (row,) = looked([WIDE, WIDE, WIDE, LEFT, LEFT, LEFT], [1], above, below)
    assert row[BARE] / row[REGION] == pytest.approx(share, abs=2e-3)


def test_beyond_the_ends_of_the_part_nothing_holds() -> None:
    """The topmost and the lowest layer are bare all over."""
    table = looked([WIDE] * 4, [0, 1, 3], 1, 1)
    assert table[:, BARE] / table[:, REGION] == pytest.approx([1.0, 0.0, 1.0], abs=1e-9)
    assert table[0, HELD_PARTS] == 0.0


def test_what_is_left_may_fall_in_two() -> None:
    """A trench above parts what is held."""
    trench = WIDE.difference(shapely.box(9.0, -1.0, 11.0, 11.0))
    (row,) = looked([WIDE, WIDE, trench], [1], 1, 0)
    assert row[[PARTS, HELD_PARTS]].tolist() == [1.0, 2.0]
    assert row[BARE] == pytest.approx(20.0, rel=0.01)


def test_only_what_lies_deeper_than_the_walls_counts() -> None:
    """A region 1.5 mm deep: 17 x 7 mm, of which 12 - 1.5 are bare."""
    (row,) = looked([WIDE, LEFT, LEFT], [0], 1, 0, depth=1.5)
    assert row[REGION] == pytest.approx(17.0 * 7.0, rel=3e-3)
    assert row[BARE] == pytest.approx(10.5 * 7.0, rel=5e-3)


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 14), st.floats(0, 14), st.floats(2, 9), st.floats(2, 9)),
        min_size=4,
        max_size=7,
    )
)
def test_any_stack_of_rectangles(cuts: list[tuple[float, float, float, float]]) -> None:
    """Each layer with an opening of its own: bare is the union of the openings near it, less its own."""
    ground = shapely.box(-1.0, -1.0, 25.0, 25.0)
    layers = [ground.difference(shapely.box(x, y, x + w, y + d)) for x, y, w, d in cuts]
    level = len(layers) // 2
    (row,) = looked(layers, [level], 1, 1)
    open_ = layers[level].difference(layers[level + 1].intersection(layers[level - 1]))
    assert row[REGION] == pytest.approx(layers[level].area, rel=3e-3)
    assert row[BARE] == pytest.approx(open_.area, abs=0.003 * 676 + 0.02)
    (split,) = kinds(layers, [level], 1, 1, sparse=False)
    air = layers[level].difference(layers[level - 1])
    top = layers[level].intersection(layers[level - 1]).difference(layers[level + 1])
    assert split[AIR] == pytest.approx(air.area, abs=2.0)
    assert split[TOP] == pytest.approx(top.area, abs=2.0)
    assert split[[AIR, TOP, REST, LINES]].sum() == pytest.approx(row[BARE], abs=2.0)


def test_top_and_air_of_a_step_and_a_bridge() -> None:
    """Under a step the lower layer is top; where a layer reaches out over nothing it lies over air."""
    table = kinds([WIDE, WIDE, LEFT, WIDE, WIDE], [1, 3], 1, 1)
    assert table[:, WHOLE] == pytest.approx([200.0, 200.0], rel=1e-3)
    assert table[0, [TOP, AIR, REST, LINES]] == pytest.approx([120.0, 0.0, 0.0, 0.0], abs=0.3)
    assert table[1, [TOP, AIR, REST, LINES]] == pytest.approx([0.0, 120.0, 0.0, 0.0], abs=0.3)


def test_on_the_bed_nothing_hangs() -> None:
    """The lowest layer is solid and lies well; the topmost is top."""
    table = kinds([WIDE] * 3, [0, 2], 1, 1, sparse=False)
    assert table[0, [TOP, AIR, REST, LINES]] == pytest.approx([0.0, 0.0, 200.0, 0.0], abs=0.3)
    assert table[1, [TOP, AIR, REST, LINES]] == pytest.approx([200.0, 0.0, 0.0, 0.0], abs=0.3)


def test_the_first_solid_layer_over_sparse_ones_lies_over_lines() -> None:
    """Two top layers over six: the lower of them stands on lines, if the layers below are sparse."""
    layers = [WIDE] * 6
    (row,) = kinds(layers, [4], 2, 2)
    assert row[[LINES, TOP, REST, AIR]] == pytest.approx([200.0, 0.0, 0.0, 0.0], abs=0.3)
    (full,) = kinds(layers, [4], 2, 2, sparse=False)
    assert full[[LINES, TOP, REST, AIR]] == pytest.approx([0.0, 0.0, 200.0, 0.0], abs=0.3)
    (inner,) = kinds(layers, [3], 2, 2)
    assert inner[[LINES, TOP, REST, AIR]].tolist() == [0.0, 0.0, 0.0, 0.0]


def test_stretches_are_counted_line_by_line() -> None:
    """Of a trench in the middle every line across has one stretch of top, and of the region one."""
    trench = WIDE.difference(shapely.box(9.0, -1.0, 11.0, 11.0))
    (row,) = kinds([WIDE, WIDE, trench], [1], 1, 1)
    across = row[WHOLE + 1]
    assert across == pytest.approx((20.0 * 0.5257 + 10.0 * 0.8507) / GAP, rel=0.01)
    assert row[TOP + 1] == pytest.approx((2.0 * 0.5257 + 10.0 * 0.8507) / GAP, rel=0.02)


def test_stretches_of_sections_at_hand() -> None:
    """Begin and end of what each line holds add up to the area; an empty section has none."""
    regions = [WIDE, shapely.Polygon(), LEFT.union(shapely.box(12.0, 2.0, 18.0, 8.0))]
    seg, starts = segments(regions)
    low, gap, rows = lines([WIDE], GAP)
    out = room(np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64), starts)
    begin, a, b = held_spans(seg, starts, low, gap, rows, out, np.empty(rows + 1, np.int64))
    for s, region in enumerate(regions):
        own = slice(begin[s, 0], begin[s, rows])
        assert (b[own] - a[own]).sum() * gap == pytest.approx(region.area, abs=0.3)
        assert (b[own] > a[own]).all()
