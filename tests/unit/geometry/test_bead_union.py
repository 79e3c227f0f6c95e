"""What beads cover, against areas by hand."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from planner.geometry.planar.bead_union import bead_union
from planner.geometry.planar.outline_offset import area


def test_one_bead_has_round_ends():
    (patch,) = bead_union(np.array([[0.0, 0.0, 10.0, 0.0]]), np.array([0.5]))
    assert area(patch) == pytest.approx(5.0 + math.pi * 0.25**2, rel=2e-3)
    assert patch.outer.min(axis=0) == pytest.approx((-0.25, -0.25), abs=2e-3)


def test_a_closed_path_keeps_its_hole_and_beads_side_by_side_close_their_gap():
    ring = [(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0), (0.0, 0.0)]
    ends = np.array([(*a, *b) for a, b in itertools.pairwise(ring)])
    (patch,) = bead_union(ends, np.full(4, 0.4))
    assert len(patch.holes) == 1
    assert area(patch) == pytest.approx(60.0 * 0.4, rel=0.01)
    lines = np.array([(0.0, 0.4 * n, 9.0, 0.4 * n) for n in range(20)])
    (patch,) = bead_union(lines, np.full(20, 0.4))
    assert patch.holes == ()


def test_apart_they_stay_apart_and_nothing_is_nothing():
    two = np.array([(0.0, 0.0, 5.0, 0.0), (0.0, 3.0, 5.0, 3.0)])
    assert len(bead_union(two, np.array([0.4, 0.6]))) == 2
    assert bead_union(np.zeros((0, 4)), np.zeros(0)) == ()
