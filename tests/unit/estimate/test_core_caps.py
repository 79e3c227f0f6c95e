"""Edges of a core beyond the outermost lines, by hand and for shapes whose tips hold no line."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.estimate.core_caps import MOST_LAYERS, core_caps
from planner.geometry.polygon import signed_area

SQUARE = [(0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0)]
HOLE = [(15.0, 15.0), (15.0, 25.0), (25.0, 25.0), (25.0, 15.0)]


def caps(*sections: list[list[tuple[float, float]]], depth: float = 5.0, spacing: float = 4.0) -> list[float]:
    rings = [np.array(ring) for section in sections for ring in section]
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])]).astype(np.int64)
    plane = np.concatenate([[0], np.cumsum([len(section) for section in sections])]).astype(np.int64)
    area = np.add.reduceat([abs(signed_area(ring)) for ring in rings], plane[:-1])
    found = core_caps(np.concatenate(rings), starts, plane, area, np.full(len(sections), depth), spacing)
    return found.tolist()


def test_a_square_by_hand() -> None:
    """Lines s apart, at 45 degrees to the sides: 2 sqrt(2) s.

    The mean of 1 - t / s over the first sqrt(2) s of a side is a half; a corner has two sides, and each of
    the four corners is an end for one of the two ways in which lines run.
    """
    assert caps([SQUARE]) == pytest.approx([2.0 * math.sqrt(2.0) * 4.0])
    assert caps([SQUARE], depth=12.0) == pytest.approx(caps([SQUARE]))  # the same corners


def test_an_opening_has_no_caps() -> None:
    """Lines run up to it from outside, so that every stretch between two of them is met."""
    assert caps([SQUARE, HOLE], depth=1.0) == pytest.approx(caps([SQUARE], depth=1.0))


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
