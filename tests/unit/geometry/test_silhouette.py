"""Outlines of bodies from one side."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.assembly.silhouette import silhouette
from planner.geometry.planar.polygon import signed_area
from tests.builders import box, cylinder

CELLS = 0.01  # two cells on either side of a body that is 500 cells wide


def test_a_box_is_its_rectangle():
    """40 x 100 seen from above, where it stands."""
    (ring,) = silhouette(box(40, 100, 7, (-300.0, 20.0, 5.0)).triangles)
    assert signed_area(ring) == pytest.approx(4000.0, rel=3 * CELLS)
    assert ring.min(axis=0) == pytest.approx([-300.0, 20.0], abs=0.5)
    assert ring.max(axis=0) == pytest.approx([-260.0, 120.0], abs=0.5)


def test_a_round_body_keeps_its_area_in_few_points():
    """A disc of 50 mm."""
    (ring,) = silhouette(cylinder(50.0, 3.0).triangles)
    assert signed_area(ring) == pytest.approx(np.pi * 625.0, rel=2 * CELLS)
    assert len(ring) < 150


def test_a_window_is_seen():
    """Four bars round an opening of 60 x 60: the opening is a ring of its own, clockwise."""
    bars = [box(100, 20, 5), box(100, 20, 5, (0, 80, 0)), box(20, 100, 5), box(20, 100, 5, (80, 0, 0))]
    outer, opening = silhouette(np.concatenate([bar.triangles for bar in bars]))
    assert signed_area(outer) == pytest.approx(10_000.0, rel=2 * CELLS)
    assert signed_area(opening) == pytest.approx(-3600.0, rel=3 * CELLS)
