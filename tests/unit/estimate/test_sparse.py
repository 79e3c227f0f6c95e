"""Lines of infill over part of the inside, worked by hand."""

from __future__ import annotations

import numpy as np
import pytest

from planner.estimate.layers.sparse import sparse_lines
from tests import builders
from tests.estimates import deposit_of


def test_a_frame_around_what_is_solid() -> None:
    """Inside of 40 x 40 mm, solid over 20 x 20 in its middle: the rest has both edges.

    Lines 4 mm apart, beads of 0.4: area 1200 less half a bead along 160 + 80 mm of edge is 1152 mm2, so
    288 mm of line; the core of all the inside has an edge of 158.4 mm, the frame half as much again, and
    every other stretch of 237.6 mm but for caps of 11.3 is laid: 113.15 mm.
    """
    one = np.ones(1)
    lines = sparse_lines(
        1200.0 * one, 1600.0 * one, 1.5 * one, (1600.0 - 32.0) * one, 158.4 * one, one, 11.3 * one, 4.0, 0.4
    )
    assert lines.area_mm2 == pytest.approx([1152.0])
    assert lines.path_mm == pytest.approx([288.0 + 113.15])


def test_ceiling_of_a_cavity() -> None:
    """Above a cavity the lines run round what is solid: longer than over a plate with as much of it.

    30 x 30 x 12 mm with 20 x 20 x 6 in its middle, two walls: on the four layers above it and the four below
    the frame is 28.34 mm wide outside (30 less 2 x 0.83545), 20 inside: 403.0 mm2, edges of 113.3 and 80 mm,
    moved in by 0.20354: 363.7 mm2 and 191.7 mm. Lines 4.0708 apart: 89.3 mm, steps (191.7 - 11.5) / 2 = 90.1.
    """
    hole = builders.inward(builders.box(20, 20, 6, (5, 5, 3)))
    recipe = {"walls": 2, "top_layers": 4, "bottom_layers": 4, "infill": 0.1}
    deposit = deposit_of(builders.joined(builders.box(30, 30, 12), hole), **recipe)
    over = deposit.layers.sparse_mm3[[11, 14, 45, 48]] / (0.40708 * 0.2)
    assert over == pytest.approx(np.full(4, 89.3 + 90.1), rel=0.01)
