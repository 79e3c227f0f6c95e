"""A piece that fits nowhere is told by every axis that is short, and by what really helps."""

from __future__ import annotations

import pytest

from planner.model.printer import Bed
from planner.nesting.problem.item import BedKind, Item
from planner.nesting.problem.unplaced import unplaced

SMALL = BedKind("small", Bed(), 220.0)  # 212 x 212 mm of ground


def _box(width: float, depth: float, height: float) -> Item:
    ring = ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth))
    return Item("p", ring, (), height, None, "s", "p")


@pytest.mark.parametrize(
    ("size", "axis", "missing", "words"),
    [
        ((300.0, 300.0, 300.0), "x", 88.0, ["88.0 mm more in x", "88.0 mm more in y", "80.0 mm more in z"]),
        ((400.0, 200.0, 5.0), "x", 188.0, ["into two", "188.0 mm more in x"]),
        ((2000.0, 100.0, 10.0), "x", 1788.0, ["into 10", "1788.0 mm more in x"]),
    ],
)
def test_every_short_axis_is_told(
    size: tuple[float, float, float], axis: str, missing: float, words: list[str]
) -> None:
    """Millimetres by hand: 220 less two margins of 4 leaves 212."""
    found = unplaced(_box(*size), [SMALL])
    assert (found.axis, found.missing_mm) == (axis, pytest.approx(missing, abs=0.01))
    for word in words:
        assert word in found.proposal


def test_the_nearest_bed_counts_all_axes() -> None:
    """One bed lacks 1 mm of height but 288 mm beside it; the other lacks 100 mm along x only."""
    low = BedKind("low", Bed(), 99.0)
    wide = BedKind("wide", Bed(width_mm=400.0, depth_mm=600.0), 300.0)
    found = unplaced(_box(500.0, 500.0, 100.0), [low, wide])
    assert "'wide'" in found.proposal


@pytest.mark.parametrize(
    ("size", "words"),
    [
        ((30.0, 20.0, 260.0), "tilt it by 37 degrees"),
        ((10.0, 10.0, 340.0), "tilt it by 52 degrees and turn it so that its long side lies at 42 degrees"),
    ],
)
def test_a_tilt_is_told_that_really_fits(size: tuple[float, float, float], words: str) -> None:
    """By hand: 260 cos 37 + 20 sin 37 = 219.7 mm; 340 sin 52 + 10 cos 52 = 274.1, cos 42 of it 203.7."""
    found = unplaced(_box(*size), [SMALL])
    assert (found.axis, found.missing_mm) == ("z", pytest.approx(size[2] - 220.0))
    assert words in found.proposal, found.proposal
