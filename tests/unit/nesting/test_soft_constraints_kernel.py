"""The wishes for one bed as numbers, by hand and against the polygon library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from planner.nesting.improve.soft_constraints_kernel import askew, spread, threat

Pair = tuple[float, float]


def threatened(
    middles: list[Pair], turns: list[float], half: list[Pair], tall: list[float], slender: list[bool]
) -> float:
    return float(
        threat(np.array(middles), np.array(turns), np.array(half), np.array(tall), np.array(slender))
    )


BLADE, BLOCK = (30.0, 5.0), (10.0, 10.0)


@pytest.mark.parametrize(
    ("away", "share"),
    [((0.0, 15.0), 1.0), ((0.0, 65.0), 0.5), ((0.0, -65.0), 0.5), ((0.0, 115.0), 0.0), ((0.0, 200.0), 0.0)],
)
def test_a_block_beside_a_blade_that_may_topple(away: Pair, share: float) -> None:
    """100 mm tall, half width 5, the block's half side 10: a gap of 50 is half of the fall."""
    assert threatened([(0.0, 0.0), away], [0.0, 0.0], [BLADE, BLOCK], [100.0, 10.0], [True, False]) == share


@pytest.mark.parametrize(("along", "hit"), [(39.9, True), (40.1, False), (-39.9, True)])
def test_a_blade_falls_across_its_narrow_side_only(along: float, hit: bool) -> None:
    """Beyond half its length and half of the block nothing is swept."""
    found = threatened([(0.0, 0.0), (along, 50.0)], [0.0, 0.0], [BLADE, BLOCK], [100.0, 10.0], [True, False])
    assert (found > 0.0) == hit


def test_the_band_turns_with_the_blade() -> None:
    """Turned by 90 degrees it sweeps x instead of y; only slender pieces sweep, each its own way."""
    places, sides = [(0.0, 0.0), (65.0, 0.0)], [BLADE, BLOCK]
    assert threatened(places, [0.0, 0.0], sides, [100.0, 10.0], [True, False]) == 0.0
    assert threatened(places, [math.pi / 2, 0.0], sides, [100.0, 10.0], [True, False]) == pytest.approx(0.5)
    assert threatened(places, [math.pi / 2, 0.0], sides, [100.0, 10.0], [False, False]) == 0.0
    both = threatened([(0.0, 0.0), (0.0, 60.0)], [0.0, 0.0], [BLADE, BLADE], [100.0, 50.0], [True, True])
    assert both == pytest.approx((1.0 - 50.0 / 100.0) + (1.0 - 50.0 / 50.0))


@settings(max_examples=60, deadline=None)
@given(
    away=st.tuples(st.floats(-150.0, 150.0), st.floats(-150.0, 150.0)),
    turns=st.tuples(st.floats(0.0, 6.3), st.floats(0.0, 6.3)),
    half=st.tuples(st.floats(2.0, 30.0), st.floats(2.0, 30.0)),
)
def test_a_threat_is_a_box_of_the_neighbour_in_the_swept_band(
    away: Pair, turns: tuple[float, float], half: Pair
) -> None:
    """The neighbour's box along the blade, as the library turns and bounds it, meets the band or not."""
    found = threatened([(0.0, 0.0), away], list(turns), [BLADE, half], [80.0, 5.0], [True, False])
    neighbour = affinity.translate(
        affinity.rotate(
            shapely.box(-half[0], -half[1], half[0], half[1]), turns[1], origin=(0, 0), use_radians=True
        ),
        *away,
    )
    x0, y0, x1, y1 = affinity.rotate(neighbour, -turns[0], origin=(0.0, 0.0), use_radians=True).bounds
    gap = max(y0 - 5.0, -5.0 - y1, 0.0)
    wanted = max(1.0 - gap / 80.0, 0.0) if x0 < 30.0 and x1 > -30.0 else 0.0
    if abs(x0 - 30.0) > 1e-6 and abs(x1 + 30.0) > 1e-6:
        assert found == pytest.approx(wanted, abs=1e-9)


def test_askew_by_hand() -> None:
    """Long pieces at 0, 30 and 90 degrees to x: sines 0, 0.5 and 1; to y: 1, cos 30 and 0."""
    angles, long = np.radians([0.0, 30.0, 90.0, 45.0]), np.array([True, True, True, False])
    assert askew(angles, long, 0.0) == pytest.approx(1.5)
    assert askew(angles, long, math.pi / 2) == pytest.approx(1.0 + math.cos(math.pi / 6))
    assert askew(angles + math.pi, long, 0.0) == pytest.approx(1.5)
    assert askew(-angles, long, 0.0) == pytest.approx(1.5)
    assert askew(angles, np.zeros(4, dtype=bool), 0.0) == 0.0


def test_spread_by_hand() -> None:
    """Three of one section at the corners of a right triangle, one of another alone."""
    middles = np.array([[0.0, 0.0], [6.0, 0.0], [0.0, 6.0], [500.0, 500.0]])
    group = np.array([0, 0, 0, 1])
    wanted = math.hypot(2, 2) + 2 * math.hypot(4, 2)
    assert spread(middles, group, 2, 10.0) == pytest.approx(wanted / 10.0)
    assert spread(middles + 70.0, group, 2, 20.0) == pytest.approx(wanted / 20.0)
    assert spread(middles, np.array([0, 1, 2, 3]), 4, 10.0) == 0.0
