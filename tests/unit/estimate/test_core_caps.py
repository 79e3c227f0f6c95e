"""Edges of a core beyond the outermost lines, by hand and for shapes whose tips hold no line."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely.affinity import rotate

from planner.estimate.layers.core_caps import MOST_LAYERS, core_caps
from planner.estimate.layers.sparse import joined_lines
from planner.geometry.planar.polygon import signed_area
from planner.geometry.planar.regions import caps as edge_caps
from planner.geometry.planar.regions import shrunk
from tests.toolpaths.lines import raster

PITCH = 0.40708

SQUARE = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)]
HOLE = [(15.0, 15.0), (15.0, 25.0), (25.0, 25.0), (25.0, 15.0)]


def caps(*sections: list[list[tuple[float, float]]], depth: float = 5.0, spacing: float = 4.0) -> list[float]:
    rings = [np.array(ring) for section in sections for ring in section]
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])]).astype(np.int64)
    plane = np.concatenate([[0], np.cumsum([len(section) for section in sections])]).astype(np.int64)
    area = np.add.reduceat([abs(signed_area(ring)) for ring in rings], plane[:-1])
    many = len(sections)
    found = core_caps(
        np.concatenate(rings),
        starts,
        plane,
        np.arange(many),
        area,
        np.full(many, depth),
        np.full(many, 1.0),
        spacing,
    )
    return found.tolist()


def test_a_square_by_hand() -> None:
    """Lines s apart, at 45 degrees to the sides: 2 sqrt(2) s.

    The mean of 1 - t / s over the first sqrt(2) s of a side is a half; a corner has two sides, and each of
    the four corners is an end for one of the two ways in which lines run.
    """
    by_hand = 2.0 * math.sqrt(2.0) * 4.0
    assert caps([SQUARE]) == pytest.approx([by_hand], rel=0.03)  # places are a few, not all
    assert caps([SQUARE], depth=12.0) == pytest.approx([by_hand], rel=0.08)  # the same corners


def test_an_opening_has_ends_of_its_own() -> None:
    """Two lines or more meet it: they go to and fro on either side of it, and not across its corners."""
    assert caps([SQUARE, HOLE], depth=1.0) == pytest.approx([2.0 * caps([SQUARE], depth=1.0)[0]], rel=0.05)


@pytest.mark.parametrize("inner", [1.5, 5.0, 12.0, 15.0])
@pytest.mark.parametrize("spacing", [PITCH / 0.1, PITCH / 0.25])
def test_lines_over_a_ring(inner, spacing) -> None:
    """Length over an annulus against lines that are drawn: within three percent, whatever its opening."""
    region = shapely.Point(0, 0).buffer(18.0, quad_segs=24) - shapely.Point(0, 0).buffer(inner, quad_segs=24)
    drawn = [
        float(np.hypot(*np.diff(line, axis=0).T).sum())
        for turn in (45.0, -45.0)
        for k in range(9)
        for line in raster(region, spacing, PITCH, turn, (0.5 + k) / 9)
    ]
    core = shrunk(region, 0.5 * PITCH)
    told = joined_lines(
        *(np.array(v) for v in (core.area, core.length, edge_caps(np.array([core]), spacing)[0])), spacing
    )
    assert float(told) == pytest.approx(sum(drawn) / 18, rel=0.03)


def test_a_thin_tail_holds_no_line() -> None:
    """A plate of 20 mm with a tail of 1 mm: moved in by 1 mm it is the plate alone, with the caps of that."""
    tail = [
        (0.0, 0.0),
        (20.0, 0.0),
        (20.0, 9.5),
        (60.0, 9.5),
        (60.0, 10.5),
        (20.0, 10.5),
        (20.0, 20.0),
        (0.0, 20.0),
    ]
    plate = [(0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0)]
    assert caps([tail], depth=1.0) == pytest.approx(caps([plate], depth=1.0))


def test_nothing_where_there_is_no_core_and_no_line() -> None:
    """A core that is gone, lines infinitely far apart, and a ring that crosses itself."""
    assert caps([SQUARE], depth=21.0) == [0.0]
    assert caps([SQUARE], spacing=math.inf) == [0.0]
    bow = [(0.0, 0.0), (40.0, 40.0), (40.0, 0.0), (0.0, 40.0)]
    assert all(math.isfinite(value) for value in caps([bow]))


def test_the_nearest_of_those_looked_at_speaks_for_the_others() -> None:
    """Many sections, the upper half of them gone: the lower ones have the caps, the upper ones none."""
    small = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)]
    found = caps(*([[SQUARE]] * 100 + [[small]] * 100))
    assert len(found) == 200 > MOST_LAYERS
    assert found == pytest.approx(found[:1] * 100 + [0.0] * 100)


def test_no_section_is_as_one_across_a_jump() -> None:
    """A few sections unlike the many below and above them have their own caps."""
    wide = [(0.0, 0.0), (40.0, 0.0), (40.0, 11.0), (0.0, 11.0)]  # its core is 1 mm wide: all of it is cap
    found = caps(*([[SQUARE]] * 90 + [[wide]] * 2 + [[SQUARE]] * 90))
    assert found[90:92] == pytest.approx(caps([wide]) * 2)
    assert found[92] == pytest.approx(caps([SQUARE])[0])


@pytest.mark.parametrize("wide", [3.0, 6.0, 10.0])
@pytest.mark.parametrize("angle", [0.0, 20.0])
def test_lines_over_a_fork(wide: float, angle: float) -> None:
    """A trunk with two branches takes two strokes where one would do without: against lines that are drawn.

    Within one per cent (2.5 where a branch is as narrow as the lines lie apart), where it is 2 to 6 without.
    """
    half = wide + 2.5
    fork = shapely.box(-half, 0.0, half, 30.0) - shapely.box(-2.5, 12.0, 2.5, 31.0)
    region = rotate(fork, angle, origin=(0.0, 0.0))
    spacing = PITCH / 0.15
    drawn = [
        float(np.hypot(*np.diff(line, axis=0).T).sum())
        for turn in (45.0, -45.0)
        for k in range(15)
        for line in raster(region, spacing, PITCH, turn, (0.5 + k) / 15)
    ]
    core = shrunk(region, 0.5 * PITCH)
    told = joined_lines(
        *(np.array(v) for v in (core.area, core.length, edge_caps(np.array([core]), spacing)[0])), spacing
    )
    assert float(told) == pytest.approx(sum(drawn) / 30, rel=0.025 if wide < 5.0 else 0.01)
