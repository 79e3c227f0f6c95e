"""Masses of carbon tubes and rods. See SOURCES.md: carbon-tubes."""

from __future__ import annotations

import pytest

from planner.weights.fittings import built_in_fitting, tube_mass_g

WITHIN = 0.005  # half a percent: what the printed figures resolve for the thinnest tube is 0.1 %

# outer, inner, then g/m at 1.50, 1.55 and 1.60 g/cm3
TUBES = [
    (3, 2, 5.89, 6.09, 6.28),
    (4, 3, 8.25, 8.52, 8.80),
    (5, 3, 18.85, 19.48, 20.11),
    (6, 4, 23.56, 24.35, 25.13),
    (8, 6, 32.99, 34.09, 35.19),
    (8, 7, 17.67, 18.26, 18.85),
    (10, 8, 42.41, 43.83, 45.24),
    (10, 9, 22.38, 23.13, 23.88),
    (12, 10, 51.84, 53.56, 55.29),
    (16, 14, 70.69, 73.04, 75.40),
]
RODS = [(1.0, 1.22), (1.5, 2.74), (2.0, 4.87), (3.0, 10.96)]


@pytest.mark.parametrize(("outer", "inner", "light", "middle", "heavy"), TUBES)
def test_tubes(outer, inner, light, middle, heavy):
    """The formula and the built-in rows give the listed grams a metre at three densities."""
    for density, grams in ((1.50, light), (1.55, middle), (1.60, heavy)):
        assert tube_mass_g(outer, inner, 1000.0, density) == pytest.approx(grams, rel=WITHIN)
    row = built_in_fitting(f"carbon tube {outer} x {inner}")
    assert (row.low_g, row.middle_g, row.high_g) == pytest.approx((light, middle, heavy), rel=WITHIN)
    assert row.fitting(length_mm=900.0).mass_g == pytest.approx(0.9 * middle, rel=WITHIN)


@pytest.mark.parametrize(("diameter", "grams"), RODS)
def test_rods(diameter, grams):
    """Solid rods at 1.55 g/cm3."""
    assert tube_mass_g(diameter, 0.0, 1000.0, 1.55) == pytest.approx(grams, rel=WITHIN)
    assert built_in_fitting(f"carbon rod {diameter:g}").middle_g == pytest.approx(grams, rel=WITHIN)
