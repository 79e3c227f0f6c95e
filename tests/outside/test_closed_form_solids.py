"""Volume, centroid and inertia against the closed forms of solids (SOURCES.md: solids)."""

from __future__ import annotations

import numpy as np
import pytest

from planner.geometry.mesh.measure import measures, shifted_inertia, volume
from planner.geometry.mesh.mesh import TriangleMesh
from tests import builders as build

ROUNDING = 1e-10  # relative; the mesh is the solid itself
FINE_FACETS = 2e-4  # relative; 512 sides leave (2 pi / 512)^2 / 6 = 2.5e-5 of the area, inertia about twice
SLOPE = 0.02  # of the exponent 2 between meshes that are fine enough
G_PER_MM3 = 1.24e-3


def test_inertia_of_the_worked_box() -> None:
    """10 x 20 x 30 mm at 1.24 g/cm3: 7.44 g, 806 / 620 / 310 g mm2; 100 mm along x: 75 020, 74 710."""
    found = measures(build.box(10, 20, 30))
    mass = found.volume * G_PER_MM3
    assert mass == pytest.approx(7.44, rel=ROUNDING)
    inertia = found.inertia * G_PER_MM3
    assert np.diag(inertia) == pytest.approx([806, 620, 310], rel=ROUNDING)
    moved = shifted_inertia(inertia, mass, np.array([100.0, 0.0, 0.0]))
    assert np.diag(moved) == pytest.approx([806, 75_020, 74_710], rel=ROUNDING)


@pytest.mark.parametrize(
    ("mesh", "exact"),
    [
        (build.cylinder(20, 50, n=512), np.pi * 100 * 50),
        (build.tube(50, 48, 100, n=512), np.pi / 4 * (50**2 - 48**2) * 100),
        (build.cone(30, 40, n=512), np.pi * 225 * 40 / 3),
        (build.frustum(30, 10, 40, n=512), np.pi * 40 / 3 * (225 + 75 + 25)),
        (build.ring(40, 8, n=512, m=512), 2 * np.pi**2 * 20 * 16),
        (build.sphere(20, 6), 4 / 3 * np.pi * 1000),
    ],
    ids=["cylinder", "tube", "cone", "frustum", "ring", "sphere"],
)
def test_volume_of_round_solids(mesh: TriangleMesh, exact: float) -> None:
    """Inscribed facets lose a little, never gain."""
    found = volume(mesh)
    assert exact * (1 - 3 * FINE_FACETS) < found < exact


def test_inertia_of_round_solids() -> None:
    """Cylinder m r2 / 2 and m (3 r2 + h2) / 12; sphere 2 m r2 / 5; ring m (R2 + 3/4 r2); cone 3 m r2 / 10."""
    cylinder = measures(build.cylinder(20, 50, n=512))
    assert cylinder.inertia[2, 2] == pytest.approx(cylinder.volume * 100 / 2, rel=FINE_FACETS)
    assert cylinder.inertia[0, 0] == pytest.approx(cylinder.volume * (300 + 2500) / 12, rel=FINE_FACETS)
    sphere = measures(build.sphere(20, 6))
    assert np.diag(sphere.inertia) == pytest.approx([0.4 * sphere.volume * 100] * 3, rel=5e-4)
    ring = measures(build.ring(40, 8, n=512, m=512))
    assert ring.inertia[2, 2] == pytest.approx(ring.volume * (400 + 0.75 * 16), rel=FINE_FACETS)
    cone = measures(build.cone(30, 40, n=512))
    assert cone.inertia[2, 2] == pytest.approx(0.3 * cone.volume * 225, rel=FINE_FACETS)
    assert cone.centroid == pytest.approx([0, 0, 10], abs=1e-9)
    frustum = measures(build.frustum(30, 10, 40, n=512))
    # h / 4 (R2 + 2 R r + 3 r2) / (R2 + R r + r2) above the larger end.
    assert frustum.centroid[2] == pytest.approx(10 * (225 + 150 + 75) / (225 + 75 + 25), rel=ROUNDING)


def test_volume_of_a_sphere_converges_with_slope_two() -> None:
    """Each halving of the facets divides the error by four."""
    exact = 4 / 3 * np.pi * 1000
    errors = np.array([exact - volume(build.sphere(20, k)) for k in range(3, 8)])
    slopes = np.log2(errors[:-1] / errors[1:])
    assert slopes[-2:] == pytest.approx([2, 2], abs=SLOPE)
    assert abs(slopes[-1] - 2) < abs(slopes[0] - 2)


def test_volume_of_a_cylinder_converges_with_slope_two() -> None:
    """An inscribed polygon of n sides has the area r2 n / 2 sin(2 pi / n)."""
    for n in (12, 24, 48):
        exact = 100 * n / 2 * np.sin(2 * np.pi / n) * 50
        assert volume(build.cylinder(20, 50, n=n)) == pytest.approx(exact, rel=ROUNDING)
