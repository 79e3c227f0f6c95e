"""Mean aerodynamic chord and quick neutral point. See SOURCES.md: mean-chord, quick-neutral-point."""

from __future__ import annotations

import numpy as np
import pytest

from planner.model.wing import TailGeometry, WingGeometry
from planner.weights.mean_chord import mean_chord, percent_chord, wing_area_dm2
from planner.weights.stability import aspect_ratio, neutral_share, tail_volume

PRINTED = 5e-7  # the worked figures have seven digits of a metre
INTEGRAL = 1e-9

WING = WingGeometry(root_chord_mm=250.0, tip_chord_mm=150.0, span_mm=1500.0, sweep_le_mm=50.0)


def test_worked_trapezium():
    """Root 0.25, tip 0.15, span 1.5 m, tip swept 0.05: S 0.30, AR 7.5, chord 0.2041667 at y 0.34375."""
    chord = mean_chord(WING)
    assert wing_area_dm2(WING) == pytest.approx(30.0)
    assert aspect_ratio(WING.span_mm, 30.0) == pytest.approx(7.5)
    assert chord.length_mm / 1000.0 == pytest.approx(0.2041667, abs=PRINTED)
    assert chord.across_mm / 1000.0 == pytest.approx(0.34375, abs=PRINTED)
    assert chord.le_mm / 1000.0 == pytest.approx(0.0229167, abs=PRINTED)
    assert (chord.le_mm + 0.25 * chord.length_mm) / 1000.0 == pytest.approx(0.0739583, abs=PRINTED)
    assert percent_chord(84.1667, chord.length_mm, chord.le_mm) == pytest.approx(30.0, abs=1e-4)


@pytest.mark.parametrize("tip", [0.0, 75.0, 150.0, 250.0, 300.0])
@pytest.mark.parametrize("sweep", [-40.0, 0.0, 120.0])
def test_closed_form_is_the_integral(tip, sweep):
    """The definition, integral of c^2 (and of c x_LE, c y) over the half span, gives the same numbers."""
    wing = WingGeometry(250.0, tip, 1500.0, sweep, root_le_mm=12.0)
    nodes, weights = np.polynomial.legendre.leggauss(8)
    eta, w = (nodes + 1.0) / 2.0, weights / 2.0
    chord = 250.0 + (tip - 250.0) * eta
    area = w @ chord
    found = mean_chord(wing)
    assert found.length_mm == pytest.approx(w @ chord**2 / area, rel=INTEGRAL)
    assert found.across_mm == pytest.approx(750.0 * (w @ (chord * eta)) / area, rel=INTEGRAL)
    assert found.le_mm == pytest.approx(12.0 + sweep * (w @ (chord * eta)) / area, rel=INTEGRAL)


@pytest.mark.parametrize(
    ("wing_ratio", "tail_ratio", "volume", "share"), [(6.0, 4.0, 0.50, 0.472222), (8.0, 4.0, 0.40, 0.450000)]
)
def test_quick_neutral_point(wing_ratio, tail_ratio, volume, share):
    """Two hand-worked cases of the quick formula."""
    assert neutral_share(wing_ratio, tail_ratio, volume) == pytest.approx(share, abs=PRINTED)


def test_tail_volume_by_hand():
    """5 dm2 at 600 mm behind 30 dm2 of 200 mm mean chord: 3000 / 6000 = 0.5."""
    assert tail_volume(TailGeometry(5.0, 600.0, 450.0), 30.0, 200.0) == pytest.approx(0.5)
