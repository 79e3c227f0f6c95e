"""Rings that enclose an area, and those that do not."""

from __future__ import annotations

import pytest
from shapely.geometry import Polygon

from planner.errors import RecordError
from planner.model.printer import Bed
from planner.model.rings import MOST_POINTS, simple_ring

SQUARE = ((0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0))
BOW = ((0.0, 0.0), (30.0, 30.0), (30.0, 0.0), (0.0, 30.0))
STAR = ((0.0, 0.0), (30.0, 20.0), (0.0, 20.0), (30.0, 0.0), (15.0, 35.0))
LINE = ((0.0, 0.0), (10.0, 0.0), (20.0, 0.0))
FLAG = ((0.0, 0.0), (40.0, 0.0), (40.0, 10.0), (10.0, 10.0), (10.0, 30.0), (0.0, 30.0))


@pytest.mark.parametrize("ring", [SQUARE, SQUARE[::-1], FLAG, (*SQUARE, SQUARE[0])])
def test_sound_rings(ring: tuple[tuple[float, float], ...]) -> None:
    """Either way round, closed or not; a library agrees."""
    simple_ring(ring, "x")
    assert Polygon(ring).is_valid


@pytest.mark.parametrize(("ring", "words"), [(STAR, "crosses itself"), (LINE, "encloses no area")])
def test_rings_that_are_none(ring: tuple[tuple[float, float], ...], words: str) -> None:
    """As a keep-out and as the outline of a bed; a library agrees."""
    with pytest.raises(RecordError, match=words):
        Bed(keep_outs=(ring,))
    with pytest.raises(RecordError, match=words):
        Bed("polygon", 40.0, 40.0, outline=ring)
    assert not Polygon(ring).is_valid or Polygon(ring).area == 0.0


def test_a_bow_has_no_area_on_the_whole() -> None:
    """Its halves cancel."""
    with pytest.raises(RecordError, match="encloses no area"):
        simple_ring(BOW, "x")


def test_too_many_points() -> None:
    """Every side is held against every other."""
    with pytest.raises(RecordError, match="the limit is 500"):
        simple_ring(tuple((float(n), float(n * n)) for n in range(MOST_POINTS + 1)), "x")
