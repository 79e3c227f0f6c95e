"""Ground and shadows by hand."""

from __future__ import annotations

import math

import pytest

from planner.model.printer import Bed
from planner.nesting.verify_ground import ground_mm2, lies_in_the_middle, shadow_mm2

SQUARE = ((0.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0))
HOLE = ((5.0, 5.0), (15.0, 5.0), (15.0, 15.0), (5.0, 15.0))


def test_shadows() -> None:
    """A square of 400 mm2 less a hole of 100."""
    assert shadow_mm2(SQUARE) == 400.0
    assert shadow_mm2(SQUARE, (HOLE,)) == 300.0


@pytest.mark.parametrize(
    ("bed", "area"),
    [
        (Bed("rectangle", 100.0, 80.0, margin_mm=5.0), 90.0 * 70.0),
        (Bed("rectangle", 100.0, 80.0, margin_mm=5.0, front_room_mm=15.0), 90.0 * 60.0),
        (Bed("rectangle", 100.0, 80.0, margin_mm=5.0, keep_outs=(SQUARE,)), 90.0 * 70.0 - 15.0 * 15.0),
        (Bed("polygon", 100.0, 80.0, ((0.0, 0.0), (100.0, 0.0), (0.0, 80.0)), margin_mm=0.0), 4000.0),
    ],
)
def test_ground(bed: Bed, area: float) -> None:
    """Margins, the strip at the front, a keep-out that reaches over the margin, a triangle."""
    assert ground_mm2(bed) == pytest.approx(area)


def test_a_round_bed() -> None:
    """Corners for a circle: less than two thousandths are lost."""
    assert ground_mm2(Bed("round", 100.0, 100.0)) == pytest.approx(math.pi * 46.0**2, rel=2e-3)


def test_what_lies_in_the_middle() -> None:
    """60 x 20 on 50 x 70 only crosswise; nothing lies where a keep-out is in the middle."""
    long = ((0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (0.0, 20.0))
    bed = Bed("rectangle", 50.0, 70.0, margin_mm=2.0)
    assert not lies_in_the_middle(long, bed, (0.0,))
    assert lies_in_the_middle(long, bed, (0.0, 90.0))
    blocked = tuple((x + 15.0, y + 25.0) for x, y in SQUARE)
    assert not lies_in_the_middle(SQUARE, Bed("rectangle", 50.0, 70.0, keep_outs=(blocked,)), (0.0,))
