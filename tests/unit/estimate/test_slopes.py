"""How much solid material lies under slopes: the closed form against every bead of tilted boxes."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.mesh import TriangleMesh
from tests import builders
from tests.estimates import deposit_of
from tests.toolpaths.generate import toolpath
from tests.toolpaths.settings import LayerPath, Settings

SLOW = pytest.mark.slow


def tilted(degrees: float) -> TriangleMesh:
    """A box of 30 x 16 x 6 mm on one of its long edges."""
    cos, sin = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    turn = np.array([[1.0, 0.0, 0.0], [0.0, cos, -sin], [0.0, sin, cos]])
    return TriangleMesh(builders.box(30, 16, 6).triangles @ turn.T)


def solid(layers: list[LayerPath]) -> float:
    """Solid mm3 of all layers."""
    return sum(layer.volume("solid") for layer in layers)


@pytest.mark.parametrize("degrees", [8.0, *(pytest.param(d, marks=SLOW) for d in (15.0, 25.0, 35.0, 50.0))])
def test_tilted_boxes(degrees):
    """Every bead drawn: all of it within half a percent, what is solid within four."""
    mesh = tilted(degrees)
    ours, layers = deposit_of(mesh), toolpath(mesh.triangles, Settings())
    assert ours.volume_mm3 == pytest.approx(sum(layer.volume() for layer in layers), rel=0.005)
    assert float(ours.layers.solid_mm3.sum()) == pytest.approx(solid(layers), rel=0.04, abs=2.0)


@pytest.mark.slow
def test_solid_that_reaches_over_the_lines():
    """Twice as far, twice as much: the edge between solid and lines times the reach."""
    mesh = tilted(25.0)
    plain, near, far = (solid(toolpath(mesh.triangles, Settings(anchor=mm))) for mm in (0.0, 0.2, 0.4))
    assert near > 1.1 * plain
    assert far - plain == pytest.approx(2.0 * (near - plain), rel=0.1)
