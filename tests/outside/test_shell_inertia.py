"""Deposits of closed shapes with n walls against centroid and inertia in closed form.

Source: integrals of rectangles, annuli, triangles and thin cones (any table of solids); see SOURCES.md.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.estimate.part import estimate_part
from planner.model.deposit import Deposit
from planner.model.filament import Filament
from planner.model.part import Part
from planner.model.recipe import Recipe
from tests.builders import box, cone, cylinder, extruded

SHARE = 0.005  # of the closed form
HEIGHT_MM, BEAD_MM, LAYER_MM = 60.0, 0.45, 0.2
PITCH_MM = ((BEAD_MM - LAYER_MM) * LAYER_MM + math.pi * LAYER_MM**2 / 4.0) / LAYER_MM
RIM_MM = (BEAD_MM - PITCH_MM) / 2.0
G_PER_MM3 = 1.24e-3


def laid_down(mesh, walls: int, **more) -> Deposit:
    recipe = Recipe("walls", walls=walls, top_layers=0, bottom_layers=0, infill=0.0, **more)
    return estimate_part(mesh, Part("p", "p", "s", recipe, "PLA"), Filament("PLA", "PLA", 1.24, 1.24), {})


def upright(flat_xx: float, flat_yy: float, mass: float) -> tuple[float, float, float]:
    """Ixx, Iyy, Izz of a prism from its sections' integrals of x^2 and y^2."""
    own = mass * HEIGHT_MM**2 / 12.0
    return flat_yy + own, flat_xx + own, flat_xx + flat_yy


@pytest.mark.parametrize("walls", [1, 2, 4])
def test_square_tube(walls):
    """A box of n walls is a large rectangle less a small one."""
    found = laid_down(box(60.0, 40.0, HEIGHT_MM), walls)
    wide, deep = 60.0 - 2 * RIM_MM, 40.0 - 2 * RIM_MM
    a, b = wide - 2 * walls * PITCH_MM, deep - 2 * walls * PITCH_MM
    unit = G_PER_MM3 * HEIGHT_MM
    mass = unit * (wide * deep - a * b)
    told = upright(unit * (deep * wide**3 - b * a**3) / 12.0, unit * (wide * deep**3 - a * b**3) / 12.0, mass)
    assert found.mass_g == pytest.approx(mass, rel=SHARE)
    assert found.centroid_mm == pytest.approx((30.0, 20.0, HEIGHT_MM / 2), rel=SHARE)
    assert found.inertia_g_mm2[:3] == pytest.approx(told, rel=SHARE)
    assert max(map(abs, found.inertia_g_mm2[3:])) < 1e-6 * told[0]


@pytest.mark.parametrize("walls", [1, 3])
def test_round_tube(walls):
    """A cylinder of n walls is an annulus: pi / 4 (R^4 - r^4) about each of its diameters."""
    found = laid_down(cylinder(50.0, HEIGHT_MM, n=360), walls)
    outer = 25.0 - RIM_MM
    inner = outer - walls * PITCH_MM
    unit = G_PER_MM3 * HEIGHT_MM
    mass = unit * math.pi * (outer**2 - inner**2)
    flat = unit * math.pi / 4.0 * (outer**4 - inner**4)
    assert found.inertia_g_mm2[:3] == pytest.approx(upright(flat, flat, mass), rel=SHARE)


@pytest.mark.parametrize("walls", [1, 2, 3])
def test_three_cornered_tube_off_its_middle(walls):
    """A right triangle less its inward offset: the centroid lies off the middle, Ixy is not zero."""
    legs = np.array([[0.0, 0.0], [80.0, 0.0], [0.0, 50.0]])
    found = laid_down(extruded(legs, HEIGHT_MM), walls)
    outer, inner = _inset(80.0, 50.0, RIM_MM), _inset(80.0, 50.0, RIM_MM + walls * PITCH_MM)
    area = outer[0] - inner[0]
    x, y = (outer[1] - inner[1]) / area, (outer[2] - inner[2]) / area
    unit = G_PER_MM3 * HEIGHT_MM
    xx, yy, xy = (unit * (outer[k] - inner[k]) for k in (3, 4, 5))
    mass = unit * area
    told = upright(xx - mass * x * x, yy - mass * y * y, mass)
    assert found.centroid_mm == pytest.approx((x, y, HEIGHT_MM / 2), rel=SHARE)
    assert found.inertia_g_mm2[:3] == pytest.approx(told, rel=SHARE)
    assert found.inertia_g_mm2[3] == pytest.approx(xy - mass * x * y, rel=SHARE)


def _inset(wide: float, deep: float, depth: float) -> tuple[float, ...]:
    """Area and first and second integrals of a right triangle at the origin moved in by ``depth``."""
    slant = math.hypot(wide, deep)
    scale = 1.0 - depth * (wide + deep + slant) / (wide * deep)
    a, b, area = wide * scale, deep * scale, wide * deep * scale**2 / 2.0
    x, y = depth + a / 3.0, depth + b / 3.0
    return (
        area,
        area * x,
        area * y,
        area * (a * a / 18.0 + x * x),
        area * (b * b / 18.0 + y * y),
        area * (-a * b / 36.0 + x * y),
    )


def test_cone_of_one_wall():
    """The mantle of a cone of height h has its centroid at h / 3 and m (h^2 / 18 + r^2 / 4) across."""
    found = laid_down(cone(60.0, 90.0, n=240), 1)
    # the bead's middle runs half a bead inside: a slightly smaller cone of the same slope
    radius = 30.0 - (RIM_MM + PITCH_MM / 2.0)
    height = 90.0 * radius / 30.0
    mass = found.mass_g
    assert found.centroid_mm[2] == pytest.approx(height / 3.0, rel=SHARE)
    across = mass * (height**2 / 18.0 + radius**2 / 4.0)
    assert found.inertia_g_mm2[:3] == pytest.approx((across, across, mass * radius**2 / 2.0), rel=0.01)


def test_solid_box():
    """With all of it filled the box weighs and turns as a solid one: m (a^2 + b^2) / 12."""
    solid = Recipe("solid", walls=2, top_layers=4, bottom_layers=4, infill=1.0)
    part = Part("p", "p", "s", solid, "PLA")
    found = estimate_part(box(60.0, 40.0, HEIGHT_MM), part, Filament("PLA", "PLA", 1.24, 1.24), {})
    m = found.mass_g / 12.0
    told = (m * (40.0**2 + HEIGHT_MM**2), m * (60.0**2 + HEIGHT_MM**2), m * (60.0**2 + 40.0**2))
    assert found.inertia_g_mm2[:3] == pytest.approx(told, rel=SHARE)
