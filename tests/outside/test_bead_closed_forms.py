"""Deposits of simple solids against closed forms. See SOURCES.md: bead-model, bead-solids."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner.model.recipe import Recipe
from tests import builders
from tests.estimates import deposit_of

HALF_PERCENT = 0.005
TABLE_DIGITS = 1e-5  # the check values of the bead table have five or more digits
WIDTH, HEIGHT = 0.45, 0.2
A = (WIDTH - HEIGHT) * HEIGHT + math.pi * HEIGHT**2 / 4.0
S = A / HEIGHT

# width, height, cross-section, spacing without net void
BEADS = [
    (0.40, 0.20, 0.071416, 0.357080),
    (0.45, 0.20, 0.081416, 0.407080),
    (0.48, 0.25, 0.106587, 0.426350),
    (0.42, 0.15, 0.058171, 0.387810),
    (0.60, 0.30, 0.160686, 0.535619),
]


@pytest.mark.parametrize(("width", "height", "area", "pitch"), BEADS)
def test_bead_table(width, height, area, pitch):
    """Cross-section and spacing of the bead as tabulated."""
    recipe = Recipe("x", bead_width_mm=width, layer_height_mm=height)
    assert recipe.pitch_mm * height == pytest.approx(area, rel=TABLE_DIGITS)
    assert recipe.pitch_mm == pytest.approx(pitch, rel=TABLE_DIGITS)


@pytest.mark.parametrize("walls", [1, 2, 4])
def test_tube_of_one_bead(walls):
    """Tube OD 50 x 100, wall one bead: 6336.84 mm3, 7.8577 g, 2634.55 mm of filament, 155.6659 mm a layer."""
    tube = builders.tube(50.0, 50.0 - 2 * WIDTH, 100.0, n=720)
    deposit = deposit_of(tube, walls=walls, top_layers=0, bottom_layers=0, infill=0.0)
    assert len(deposit.layers) == 500
    assert deposit.volume_mm3 == pytest.approx(6336.84, rel=HALF_PERCENT)
    assert deposit.mass_g == pytest.approx(7.8577, rel=HALF_PERCENT)
    assert deposit.filament_m * 1000.0 == pytest.approx(2634.55, rel=HALF_PERCENT)
    assert deposit.layers.path_mm[250] == pytest.approx(155.6659, rel=HALF_PERCENT)


@pytest.mark.parametrize("walls", [1, 2, 3])
def test_tube_of_two_beads(walls):
    """Tube OD 50 x 100, wall two beads one spacing apart: 12569.56 mm3 and both centre lines."""
    tube = builders.tube(50.0, 50.0 - 2 * (WIDTH + S), 100.0, n=720)
    deposit = deposit_of(tube, walls=walls, top_layers=0, bottom_layers=0, infill=0.0)
    assert deposit.volume_mm3 == pytest.approx(12569.56, rel=HALF_PERCENT)
    path = math.pi * (49.55 + 49.55 - 2.0 * S)
    assert deposit.layers.path_mm[250] == pytest.approx(path, rel=HALF_PERCENT)


def test_wall_thinner_than_a_bead():
    """A wall of 0.35 mm is one narrower bead: rectangle with round ends, along one middle line."""
    tube = builders.tube(50.0, 49.3, 20.0, n=720)
    deposit = deposit_of(tube, walls=2, top_layers=0, bottom_layers=0, infill=0.0)
    length = math.pi * 49.65
    bead_mm2 = 0.15 * HEIGHT + math.pi * HEIGHT**2 / 4  # 0.35 mm wide
    assert deposit.volume_mm3 == pytest.approx(100 * length * bead_mm2, rel=HALF_PERCENT)
    assert deposit.layers.path_mm[50] == pytest.approx(length, rel=HALF_PERCENT)


def box_lines(x: float, y: float, infill: float) -> float:
    """Lines at 45 degrees and their steps over x times y, half a bead inside it.

    Steps are every other stretch of the edge. Beyond the outermost lines lies on the average 2 sqrt(2)
    spacings of edge, in two corners.
    """
    if infill <= 0.0:
        return 0.0
    spacing, x, y = S / infill, x - S, y - S
    return x * y / spacing + 0.5 * (2.0 * (x + y) - 2.0 * math.sqrt(2.0) * spacing)


def disc_lines(outline: float, inner: float, infill: float) -> float:
    """The same over a disc of radius ``inner``; the arcs beyond the lines are those of the outline.

    An arc of angle p to both sides of the extreme lies R (1 - cos p) under it: the mean of what is beyond
    the line is 4 R (q (1 - R/c) + R/c sin q) for both ends, with cos q = 1 - c/R and spacing c.
    """
    spacing, r = S / infill, inner - S / 2
    if r <= 0.0:
        return 0.0
    q = math.acos(max(1.0 - spacing / outline, -1.0))
    arcs = 4.0 * outline * (q * (1.0 - outline / spacing) + outline / spacing * math.sin(q))
    length = math.pi * r * r / spacing + 0.5 * max(2.0 * math.pi * r - arcs, 0.0)
    return min(length, math.pi * inner**2 / S)


@pytest.mark.parametrize("walls", [0, 1, 2, 3])
@pytest.mark.parametrize(("top", "bottom", "infill"), [(0, 0, 0.0), (4, 4, 0.1), (4, 0, 0.25), (3, 5, 1.0)])
def test_box(walls, top, bottom, infill):
    """Box 20 x 30 x 20: centre lines times cross-section, and the rest by area."""
    deposit = deposit_of(
        builders.box(20, 30, 20), walls=walls, top_layers=top, bottom_layers=bottom, infill=infill
    )
    lines = sum(2.0 * (20 + 30) - 8.0 * (WIDTH / 2 + k * S) for k in range(walls))
    edge = 2.0 * ((WIDTH - S) / 2 + walls * S) if walls else 0.0
    inner = (20 - edge) * (30 - edge)
    solid = top + bottom
    thread = box_lines(20 - edge, 30 - edge, infill)
    expected = 100 * lines * A + HEIGHT * inner * solid + A * thread * (100 - solid)
    assert deposit.volume_mm3 == pytest.approx(expected, rel=HALF_PERCENT, abs=1e-9)
    assert deposit.layers.path_mm[50] * A == pytest.approx((lines + thread) * A, rel=HALF_PERCENT, abs=1e-9)


@pytest.mark.parametrize("walls", [1, 3])
def test_cone(walls):
    """Cone D 40 x 40: each wall is a frustum mantle, the rest a smaller cone (no top, no bottom)."""
    deposit = deposit_of(builders.cone(40, 40, n=720), walls=walls, top_layers=0, bottom_layers=0, infill=0.2)
    z = 0.1 + 0.2 * np.arange(200)
    radius = 20.0 * (1.0 - z / 40.0)
    rim, depth = (WIDTH - S) / 2, (WIDTH - S) / 2 + walls * S
    free = math.pi * np.maximum(radius - depth, 0.0) ** 2
    wall = math.pi * np.maximum(radius - rim, 0.0) ** 2 - free
    thread = sum(disc_lines(r, r - depth, 0.2) for r in radius)
    assert deposit.volume_mm3 == pytest.approx(HEIGHT * float(wall.sum()) + A * thread, rel=HALF_PERCENT)


@pytest.mark.parametrize(("top", "bottom"), [(0, 0), (4, 4), (2, 3)])
def test_sphere(top, bottom):
    """Sphere D 40, two walls: a layer is solid where the sphere ends within reach of it."""
    deposit = deposit_of(builders.sphere(40, 6), walls=2, top_layers=top, bottom_layers=bottom, infill=0.1)
    z = 0.1 + 0.2 * np.arange(200)
    area = lambda height: np.where((height > 0) & (height < 40), math.pi * (400 - (height - 20) ** 2), 0.0)  # noqa: E731
    radius = np.sqrt(np.maximum(area(z), 0.0) / math.pi)
    rim, depth = (WIDTH - S) / 2, (WIDTH - S) / 2 + 2 * S
    free = math.pi * np.maximum(radius - depth, 0.0) ** 2
    wall = math.pi * np.maximum(radius - rim, 0.0) ** 2 - free
    held = np.minimum(
        free, np.minimum(area(z + top * 0.2) if top else free, area(z - bottom * 0.2) if bottom else free)
    )
    inside = np.sqrt(held / math.pi)
    thread = sum(disc_lines(r, q, 0.1) for r, q in zip(radius, inside, strict=True))
    expected = HEIGHT * float((wall + free - held).sum()) + A * thread
    assert deposit.volume_mm3 == pytest.approx(expected, rel=HALF_PERCENT)


@pytest.mark.parametrize("bottom", [0, 4])
def test_spiral_vase(bottom):
    """Cylinder D 50 x 100 as a spiral: one bead a layer on the outline, on a solid floor."""
    deposit = deposit_of(
        builders.cylinder(50, 100, n=720),
        spiral=True,
        walls=1,
        top_layers=0,
        bottom_layers=bottom,
        infill=0.0,
    )
    floor = bottom * HEIGHT * math.pi * (25.0 - (WIDTH - S) / 2) ** 2
    assert deposit.volume_mm3 == pytest.approx(floor + 6336.84 * (500 - bottom) / 500, rel=HALF_PERCENT)
    assert "spiral" not in " ".join(f.text for f in deposit.findings)


def test_brim():
    """Brim of 5 mm round a box 20 x 30: a band with quarter circles at the corners, one layer high."""
    plain = deposit_of(builders.box(20, 30, 4), infill=0.0)
    brim = deposit_of(builders.box(20, 30, 4), infill=0.0, brim_mm=5.0)
    band = 2 * (20 + 30) * 5.0 + math.pi * 25.0
    assert brim.volume_mm3 - plain.volume_mm3 == pytest.approx(band * HEIGHT, rel=HALF_PERCENT)
    xs = [x for x, _ in brim.footprint_mm]
    assert min(xs) == pytest.approx(-5.0, abs=0.2)


def test_foamed_mass():
    """A filament that foams from 1.21 to 0.54 g/cm3 gives the same volume, 0.54/1.21 of the grams."""
    from planner.model.filament import Filament

    foam = Filament("foam", "PLA", 1.21, 0.54, foaming=True)
    solid = Filament("solid", "PLA", 1.21, 1.21)
    tube = builders.tube(50.0, 49.1, 20.0)
    light, heavy = deposit_of(tube, filament=foam), deposit_of(tube, filament=solid)
    assert light.volume_mm3 == heavy.volume_mm3
    assert light.mass_g / heavy.mass_g == pytest.approx(0.54 / 1.21, rel=1e-12)
    assert light.filament_m / heavy.filament_m == pytest.approx(foam.flow_fraction, rel=1e-12)


def test_convergence_with_layer_height():
    """The layer sum of a solid cone is a midpoint rule: its error falls with the square of the height."""
    heights = [2.0, 1.0, 0.5, 0.25]
    cone = builders.cone(40, 40, n=96)
    true = cone_volume(40, 40, 96)
    errors = []
    for height in heights:
        deposit = deposit_of(
            cone,
            layer_height_mm=height,
            bead_width_mm=2.0,
            walls=0,
            top_layers=1000,
            bottom_layers=0,
            infill=0.0,
        )
        errors.append(abs(deposit.volume_mm3 - true))
    slope = np.polyfit(np.log(heights), np.log(errors), 1)[0]
    assert slope == pytest.approx(2.0, abs=0.1)


def cone_volume(diameter: float, height: float, n: int) -> float:
    """Pyramid over a regular polygon inscribed in a circle."""
    return 0.5 * n * (diameter / 2) ** 2 * math.sin(2 * math.pi / n) * height / 3.0
