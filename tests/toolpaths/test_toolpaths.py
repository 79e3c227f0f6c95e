"""The maker of toolpaths against numbers worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from tests import builders
from tests.toolpaths.generate import toolpath
from tests.toolpaths.lines import raster
from tests.toolpaths.seconds import Machine, path_seconds, stroke_seconds
from tests.toolpaths.settings import Settings, Stroke

PITCH = 0.45 - 0.2 * (1.0 - math.pi / 4.0)  # 0.40708


def test_walls_of_a_box():
    """Two walls of 20 x 30: centre lines half a bead, and one pitch more, inside the outline."""
    layer = toolpath(builders.box(20, 30, 2).triangles, Settings(top=0, bottom=0, infill=0.0))[4]
    lengths = [stroke.length for stroke in layer.strokes]
    assert lengths == pytest.approx([100.0 - 8.0 * 0.225, 100.0 - 8.0 * (0.225 + PITCH)], abs=1e-4)
    assert layer.volume() == pytest.approx(sum(lengths) * 0.081416, rel=1e-4)


def test_solid_lines_cover_the_area():
    """Touching lines and their steps over a square lay its area, within the grid of lines."""
    lines = raster(shapely.box(0, 0, 30, 30), PITCH, PITCH, 45.0)
    length = sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)
    assert length * PITCH == pytest.approx(900.0, rel=0.005)


@pytest.mark.parametrize("infill", [1.0, 0.2])
def test_infill_over_the_edge_of_walls(infill):
    """A quarter of a bead over an edge of 100 mm: 0.25 x 0.407 x 100 mm2 if solid, a fifth if sparse."""
    more = []
    for over in (0.0, 0.25 * PITCH):
        lines = [
            raster(
                shapely.box(-over, -over, 30 + over, 20 + over), PITCH / infill, PITCH, turn, (0.5 + k) / 9
            )
            for turn in (45.0, -45.0)
            for k in range(9)
        ]
        more.append(sum(float(np.hypot(*np.diff(p, axis=0).T).sum()) for laid in lines for p in laid) / 18)
    assert (more[1] - more[0]) * PITCH == pytest.approx(0.25 * PITCH * 100.0 * infill, rel=0.06)


def test_a_tube_narrower_than_a_bead():
    """One bead of 0.35 mm along the middle of the wall."""
    layer = toolpath(builders.tube(20, 19.3, 0.6).triangles, Settings(top=0, bottom=0, infill=0.0))[1]
    assert sum(s.length for s in layer.strokes) == pytest.approx(math.pi * 19.65, rel=0.01)
    assert layer.volume() == pytest.approx(math.pi * 19.65 * (0.15 * 0.2 + math.pi * 0.01), rel=0.01)


def test_square_in_seconds():
    """Four sides of 20 mm at 60 mm/s and 1000 mm/s2 from rest to rest: 1.513448 s (mechanics)."""
    square = np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0], [0.0, 0.0]])
    assert stroke_seconds(Stroke(square, "sparse", 0.08), Machine()) == pytest.approx(1.513448, abs=1e-4)


@pytest.mark.slow
def test_tube_in_seconds():
    """One wall, one bead: length at 45 mm/s, one ramp, one layer change; the first layer at 20 mm/s."""
    tube = builders.tube(50.0, 49.1, 1.0, n=360)
    seconds = path_seconds(
        toolpath(tube.triangles, Settings(walls=1, top=0, bottom=0, infill=0.0)), Machine()
    )
    length = math.pi * 49.55
    assert seconds[0] == pytest.approx(length / 20.0 + 0.02 + 0.8, rel=0.003)
    assert seconds[1:] == pytest.approx(length / 45.0 + 0.045 + 0.8, rel=0.003)
