"""The integers in which a choice of prints is reckoned."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from planner.tradeoffs.alternatives import Rest, Targets
from planner.tradeoffs.choice_model import amount, ceiling, lever

ROW = SimpleNamespace(mass_g=12.3456, minutes=10.25, cost_minor=345, station_mm=100.5)


def test_measures_of_a_row():
    """Milligrams, seconds and cents."""
    assert [amount(m, ROW) for m in ("mass", "minutes", "cost")] == [12_346, 615, 345]


@pytest.mark.parametrize(
    ("measure", "limits", "wanted"),
    [
        ("mass", {"mass_g": 12.3456}, 12_345),
        ("mass", {"mass_g": 0.1 + 0.2}, 300),
        ("mass", {"mass_g": 0.3}, 300),
        ("minutes", {"minutes": 10.25}, 615),
        ("cost", {"cost_minor": 345}, 345),
        ("mass", {"minutes": 1.0}, None),
        ("minutes", {}, None),
        ("cost", {"mass_g": 1.0}, None),
    ],
)
def test_limits_in_the_same_integers(measure, limits, wanted):
    """Rounded down, but for a hair; no limit where none is given."""
    assert ceiling(measure, Targets(**limits)) == wanted


def test_moments_about_a_station():
    """12.3456 g half a millimetre aft of 100: 6.1728 g mm, in milligrams times hundredths of a millimetre."""
    assert lever(ROW, 100.0) == 617_280
    assert lever(ROW, 101.0) == -617_280
    assert lever(SimpleNamespace(mass_g=5.0, station_mm=None), 100.0) == 0
    names = Rest.__dataclass_fields__
    rest = Rest(**{name: {"moment_gmm": 5000.0, "placed_g": 40.0}.get(name, 0) for name in names})
    assert lever(rest, 100.0) == (5000 - 4000) * 100_000
