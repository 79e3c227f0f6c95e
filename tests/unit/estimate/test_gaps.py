"""Room between walls that is narrower than a bead, against numbers worked by hand."""

from __future__ import annotations

import math

import pytest

from tests import builders
from tests.estimates import deposit_of

PITCH = 0.45 - 0.2 * (1.0 - math.pi / 4.0)
RIM = 0.5 * (0.45 - PITCH)


@pytest.mark.parametrize("infill", [0.0, 0.1])
def test_gap_between_walls_is_filled(infill):
    """Tube of 1.9 mm, two walls on each side: what is left is 0.23 mm wide, and one more bead fills it."""
    deposit = deposit_of(builders.tube(36, 32.2, 4.0, n=360), infill=infill, top_layers=0, bottom_layers=0)
    area = math.pi * (18.0**2 - 16.1**2) - RIM * math.pi * (36.0 + 32.2)
    assert deposit.volume_mm3 == pytest.approx(20 * 0.2 * area, rel=0.002)
    assert float(deposit.layers.sparse_mm3.sum()) == pytest.approx(0.0, abs=1e-6)


def test_room_of_a_bead_is_not_a_gap():
    """A bar of 2.6 mm leaves 0.93 mm: that is for the infill, and without infill it stays open."""
    deposit = deposit_of(builders.box(50, 2.6, 4.0), infill=0.0, top_layers=0, bottom_layers=0)
    depth = RIM + 2.0 * PITCH
    wall = 50 * 2.6 - RIM * 2 * 52.6 - (50 - 2 * depth) * (2.6 - 2 * depth)
    assert deposit.volume_mm3 == pytest.approx(20 * 0.2 * wall, rel=0.003)


def test_a_small_gap_widens_the_beads_beside_it():
    """A gap of 0.23 mm is no bead of its own: the path is that of the four walls; one of 0.35 mm is."""
    for thick, beads in ((1.9, 4), (2.02, 5)):
        outer, inner = 36.0, 36.0 - 2.0 * thick
        deposit = deposit_of(
            builders.tube(outer, inner, 2.0, n=360), infill=0.0, top_layers=0, bottom_layers=0
        )
        assert deposit.layers.path_mm[5] == pytest.approx(beads * math.pi * (outer - thick), rel=0.01)
