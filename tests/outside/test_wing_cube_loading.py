"""Wing cube loading against an open project's test value. See SOURCES.md: wing-cube-loading."""

from __future__ import annotations

import pytest

from planner.weights.loading import cube_band, wing_cube_loading_kg_per_m3, wing_loading_g_per_dm2

ROUND_OFF = 1e-14  # the published value has sixteen digits
OUNCE_G, FOOT_M = 28.349523125, 0.3048


def test_published_value():
    """750 g on 30 dm2 is 4.564354645876384 kg/m3, to the last digit of a float."""
    assert wing_cube_loading_kg_per_m3(750.0, 30.0) == pytest.approx(4.564354645876384, rel=ROUND_OFF)


def test_printed_wing_of_an_open_project():
    """250 g on 17.25 dm2: 14.493 g/dm2 and 3.489 kg/m3, a slow flyer."""
    assert f"{wing_loading_g_per_dm2(250.0, 17.25):.3f}" == "14.493"
    assert f"{wing_cube_loading_kg_per_m3(250.0, 17.25):.3f}" == "3.489"
    assert cube_band(3.489) == "slow flyers and thermal gliders"


def test_ounces_per_cubic_foot_are_nearly_the_same_unit():
    """1 oz/ft3 is 1.00115 kg/m3, so bands given in ounces hold as they are."""
    assert f"{OUNCE_G / 1000.0 / FOOT_M**3:.5f}" == "1.00115"
    assert wing_cube_loading_kg_per_m3(OUNCE_G, (FOOT_M * 10.0) ** 2) == pytest.approx(1.00115, abs=5e-6)


@pytest.mark.parametrize(
    ("loading", "word"), [(6.0, "trainers"), (8.0, "sport"), (12.0, "scale"), (15.0, "warbirds")]
)
def test_bands(loading, word):
    """The usual bands, one value inside each."""
    assert word in cube_band(loading)
