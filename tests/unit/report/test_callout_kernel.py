"""Whether a name and its line have room: single cases by hand, and many against shapely."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, box

from planner.report.drawings.callout_kernel import first_free
from planner.report.drawings.label_kernel import boxes_about

NO_LINE = [np.nan] * 4
BOUNDS = [0.0, 0.0, 100.0, 100.0]
NONE = np.empty((0, 4))


def free(
    name: list[float],
    line: list[float] | None = None,
    *,
    mark: tuple[float, float] = (50.0, 50.0),
    taken: Any = NONE,
    names: Any = NONE,
    leaders: Any = NONE,
    rings: tuple[Any, ...] = (),
) -> bool:
    """Whether one place of a name is free."""
    corners = np.concatenate(rings) if rings else np.empty((0, 2))
    starts = np.cumsum([0, *(len(ring) for ring in rings)]).astype(np.int64)
    found = first_free(
        np.array([name]),
        np.array([line or NO_LINE]),
        np.array(mark),
        np.array(BOUNDS),
        np.array(taken, dtype=float).reshape(-1, 4),
        np.array(names, dtype=float).reshape(-1, 4),
        np.array(leaders, dtype=float).reshape(-1, 4),
        corners,
        starts,
        boxes_about(corners, starts),
    )
    return bool(found == 0)


@pytest.mark.parametrize(
    ("name", "inside"),
    [
        ([0.0, 0.0, 10.0, 3.0], True),
        ([-0.1, 0.0, 10.0, 3.0], False),
        ([0.0, -0.1, 10.0, 3.0], False),
        ([90.0, 97.0, 100.0, 100.0], True),
        ([90.1, 97.0, 100.1, 100.0], False),
        ([90.0, 97.1, 100.0, 100.1], False),
    ],
)
def test_a_name_stays_on_the_drawing(name: list[float], inside: bool) -> None:
    assert free(name) is inside


def test_names_may_share_a_rim_and_no_more() -> None:
    """Of another name, and of what is taken."""
    beside, over = [20.0, 10.0, 30.0, 13.0], [19.9, 12.9, 30.0, 15.0]
    for what in ("names", "taken"):
        assert free([10.0, 10.0, 20.0, 13.0], **{what: [beside]})  # type: ignore[arg-type]
        assert not free([10.0, 10.0, 20.0, 13.0], **{what: [beside, over]})  # type: ignore[arg-type]


def test_a_line_crosses_neither_names_nor_lines() -> None:
    """Nor may a name lie on the line of another."""
    name, line = [60.0, 10.0, 70.0, 13.0], [50.0, 50.0, 60.0, 11.5]
    assert free(name, line)
    assert not free(name, line, names=[[50.0, 30.0, 60.0, 33.0]])
    assert free(name, None, names=[[50.0, 30.0, 60.0, 33.0]])
    assert not free(name, line, leaders=[[45.0, 30.0, 65.0, 31.0]])
    assert free(name, line, leaders=[[45.0, 30.0, 50.0, 31.0]])  # ends before it
    assert not free(name, None, leaders=[[65.0, 0.0, 65.0, 20.0]])
    assert free(name, None, leaders=[[71.0, 0.0, 71.0, 20.0]])


def test_a_line_passes_round_marks_and_its_own_lettering_only() -> None:
    """What is wider than tall is lettering of the frame."""
    name, line = [60.0, 10.0, 70.0, 13.0], [50.0, 50.0, 60.0, 11.5]
    assert free(name, line, taken=[[52.0, 30.0, 58.0, 36.0]])  # a round mark on the way
    assert not free(name, line, taken=[[50.0, 30.0, 60.0, 32.0]])
    assert free(name, line, taken=[[45.0, 49.0, 55.0, 51.0]])  # about the mark itself
    assert not free(name, line, taken=[[45.0, 49.0, 55.0, 51.0]], mark=(50.0, 60.0))


def test_a_name_stays_off_outlines_and_may_lie_in_a_gap_of_one() -> None:
    """Inside, across and around it; a small outline inside the name is met, too."""
    ring = np.array([[20.0, 20.0], [80.0, 20.0], [80.0, 80.0], [60.0, 80.0], [60.0, 40.0], [40.0, 40.0],
                     [40.0, 80.0], [20.0, 80.0]])  # fmt: skip
    assert not free([25.0, 25.0, 35.0, 28.0], rings=(ring,))
    assert not free([15.0, 25.0, 25.0, 28.0], rings=(ring,))
    assert free([45.0, 60.0, 55.0, 63.0], rings=(ring,))
    assert not free([39.0, 60.0, 55.0, 63.0], rings=(ring,))
    dot = np.array([[50.0, 61.0], [51.0, 61.0], [50.0, 62.0]])
    assert not free([45.0, 60.0, 55.0, 63.0], rings=(ring, dot))


def test_the_first_place_that_is_free_is_taken() -> None:
    """Of four: off the sheet, over a name, free, free."""
    places = np.array(
        [[-5.0, 0.0, 5.0, 3.0], [0.0, 0.0, 10.0, 3.0], [0.0, 5.0, 10.0, 8.0], [0.0, 9.0, 10.0, 12.0]]
    )
    nothing, starts = np.empty((0, 2)), np.array([0], dtype=np.int64)
    found = first_free(
        places, np.full((4, 4), np.nan), np.array([50.0, 50.0]), np.array(BOUNDS), NONE,
        np.array([[8.0, 1.0, 20.0, 4.0]]), NONE, nothing, starts, np.empty((0, 4)),
    )  # fmt: skip
    assert found == 2


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 100_000))
def test_what_is_free_is_free_by_shapely(seed: int) -> None:
    """A name, its line, another name, another line and a triangle, thrown at random."""
    rng = np.random.default_rng(seed)
    corner = rng.uniform(0.0, 80.0, (2, 2))
    own, other = ([*c, *(c + rng.uniform(2.0, 20.0, 2))] for c in corner)
    line = [*rng.uniform(0.0, 100.0, 2), own[0], own[1]]
    leader = rng.uniform(0.0, 100.0, 4).tolist()
    triangle = rng.uniform(0.0, 100.0, (3, 2))
    a, b, mine, its, shape = box(*own), box(*other), _line(line), _line(leader), Polygon(triangle)
    meant = not (
        a.intersects(b)
        or mine.intersects(b)
        or a.intersects(its)
        or mine.intersects(its)
        or a.intersects(shape)
    )
    assert free(own, line, names=[other], leaders=[leader], rings=(triangle,)) is meant


def _line(ends: list[float]) -> LineString:
    return LineString([ends[:2], ends[2:]])
