"""Speeds along paths and seconds, by hand and against small steps of time."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.estimate.time.motion_kernel import (
    CLOSED,
    OPEN,
    ROLLING,
    junction_speed2,
    line_seconds,
    move_seconds,
    path_seconds,
    plan_speeds,
    planned_seconds,
)
from planner.estimate.time.support_minutes import support_seconds
from planner.model.filament import Filament
from planner.model.printer import Motion

BRISK = 1e9  # mm/s2: as good as no ramps


@pytest.mark.parametrize(
    ("length", "entry", "leave", "seconds"),
    [
        (100.0, 0.0, 0.0, 0.05 + 0.05 + (100.0 - 2.5 - 2.5) / 100.0),  # two ramps of 2.5 mm and 95 mm between
        (100.0, 100.0, 100.0, 1.0),
        (100.0, 100.0, 0.0, 0.05 + 97.5 / 100.0),
        (2.0, 0.0, 0.0, 2.0 * math.sqrt(2.0 / 2000.0)),  # it never gets to full speed
        (0.0, 50.0, 50.0, 0.0),
    ],
)
def test_one_move_by_hand(length: float, entry: float, leave: float, seconds: float) -> None:
    """100 mm/s at 2000 mm/s2: a ramp from rest takes 0.05 s and 2.5 mm."""
    assert move_seconds(length, 100.0, 2000.0, entry, leave) == pytest.approx(seconds)


@settings(max_examples=40, deadline=None)
@given(
    length=st.floats(0.1, 80.0),
    speed=st.floats(5.0, 200.0),
    pull=st.floats(200.0, 5000.0),
    share=st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 1.0)),
)
def test_one_move_in_ten_thousand_steps(
    length: float, speed: float, pull: float, share: tuple[float, float]
) -> None:
    """The highest speed that both ends allow, place by place; seconds are the sum of ways over speeds."""
    entry, leave = (s * speed for s in share)
    if abs(entry**2 - leave**2) > 2.0 * pull * length:
        return
    at = (np.arange(10_000) + 0.5) * length / 10_000
    fast = np.sqrt(np.minimum(entry**2 + 2 * pull * at, leave**2 + 2 * pull * (length - at)))
    slow = float((length / 10_000 / np.minimum(fast, speed)).sum())
    assert move_seconds(length, speed, pull, entry, leave) == pytest.approx(slow, rel=0.01)


@pytest.mark.parametrize(
    ("degrees", "square"),
    [(0.0, math.inf), (90.0, 1000 * 0.05 * math.sqrt(0.5) / (1 - math.sqrt(0.5))), (180.0, 0.0)],
)
def test_the_speed_at_a_corner(degrees: float, square: float) -> None:
    """Straight on without limit, back at rest, between by the circle that cuts the corner."""
    assert junction_speed2(math.cos(math.radians(degrees)), 1000.0, 0.05) == pytest.approx(square, abs=1e-9)


@settings(max_examples=40, deadline=None)
@given(
    lengths=st.lists(st.floats(0.05, 30.0), min_size=1, max_size=8),
    seed=st.integers(0, 999),
    pull=st.floats(100.0, 4000.0),
)
def test_planned_speeds_can_be_reached_and_are_the_highest(
    lengths: list[float], seed: int, pull: float
) -> None:
    """None above its limit, neighbours within reach of one another, each held down by a limit somewhere."""
    n = len(lengths)
    limits = np.random.default_rng(seed).uniform(0.0, 10_000.0, n + 1)
    limits[0] = limits[-1] = 0.0
    speeds2, ways = limits.copy(), np.array(lengths)
    plan_speeds(ways, n, speeds2, pull)
    assert (speeds2 <= limits + 1e-9).all()
    assert (np.abs(np.diff(speeds2)) <= 2.0 * pull * ways + 1e-6).all()
    places = np.concatenate([[0.0], np.cumsum(ways)])
    bound = (limits[None, :] + 2.0 * pull * np.abs(places[:, None] - places[None, :])).min(axis=1)
    assert speeds2 == pytest.approx(bound, rel=1e-9, abs=1e-6)


def paths(
    points: list[tuple[float, float]], mode: int, speed: float = 100.0, pull: float = BRISK, dev: float = 0.05
) -> float:
    at = np.array(points, dtype=float)
    ends = np.array([0, len(at)], dtype=np.int64)
    return float(path_seconds(at, ends, np.array([mode], dtype=np.int64), np.array([speed]), pull, dev)[0])


SQUARE = [(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (0.0, 50.0)]


def test_a_path_ends_where_its_mode_says() -> None:
    """Without ramps: three sides open, four closed or rolling."""
    assert paths(SQUARE, OPEN) == pytest.approx(1.5, rel=1e-4)
    assert paths(SQUARE, CLOSED) == pytest.approx(2.0, rel=1e-4)
    assert paths(SQUARE, ROLLING) == pytest.approx(2.0, rel=1e-4)
    assert paths(SQUARE[:1], OPEN) == 0.0
    assert paths([(1.0, 1.0)] * 3, CLOSED) == 0.0


def test_a_square_with_ramps_by_hand() -> None:
    """Four sides with the corner speed between them; the first begins and the last ends at rest."""
    pull, dev, speed = 1000.0, 0.05, 100.0
    corner = math.sqrt(junction_speed2(0.0, pull, dev))
    ends = move_seconds(50.0, speed, pull, 0.0, corner)
    middle = move_seconds(50.0, speed, pull, corner, corner)
    assert paths(SQUARE, OPEN, speed, pull, dev) == pytest.approx(2 * ends + middle)
    assert paths(SQUARE, CLOSED, speed, pull, dev) == pytest.approx(2 * ends + 2 * middle)
    assert paths(SQUARE, ROLLING, speed, pull, dev) == pytest.approx(4 * middle)
    lengths, limits = np.full(4, 50.0), np.array([0.0, *[corner**2] * 3, 0.0])
    assert planned_seconds(lengths, 4, limits, speed, pull) == pytest.approx(2 * ends + 2 * middle)


def test_a_rolling_lap_does_not_care_where_it_begins() -> None:
    """And points on a straight side change nothing."""
    ring = [(0.0, 0.0), (30.0, 0.0), (31.0, 0.5), (31.0, 40.0), (0.0, 12.0)]
    laps = [paths(ring[n:] + ring[:n], ROLLING, 80.0, 700.0) for n in range(5)]
    assert laps == pytest.approx([laps[0]] * 5)
    finer = [*ring[:1], (10.0, 0.0), (10.0, 0.0), (20.0, 0.0), *ring[1:]]
    assert paths(finer, ROLLING, 80.0, 700.0) == pytest.approx(laps[0])
    assert laps[0] < paths(ring, CLOSED, 80.0, 700.0)


def test_several_paths_keep_their_own_speed() -> None:
    at = np.array([(0.0, 0.0), (50.0, 0.0), (0.0, 0.0), (0.0, 80.0), (5.0, 5.0)])
    ends, modes = np.array([0, 2, 4, 5], dtype=np.int64), np.zeros(3, dtype=np.int64)
    found = path_seconds(at, ends, modes, np.array([100.0, 40.0, 10.0]), BRISK, 0.05)
    assert found == pytest.approx([0.5, 2.0, 0.0], rel=1e-3)


def lines(
    area: float,
    chord: float,
    spacing: float,
    *,
    pull: float = BRISK,
    steps: float = 0.0,
    strokes: float = 1.0,
) -> float:
    one = [np.array([v]) for v in (area, chord, 50.0, steps, strokes, 0.0)]
    return float(line_seconds(*one, spacing, 0.4, np.array([pull]), 0.05)[0])


def test_lines_to_and_fro_without_ramps_are_length_over_speed() -> None:
    """400 mm2 of lines 0.4 apart are 1000 mm; 4 apart they are 100 mm and the steps between them."""
    assert lines(400.0, 20.0, 0.4) == pytest.approx(20.0, rel=0.01)
    assert lines(400.0, 20.0, 4.0) == pytest.approx(2.0, rel=0.01)
    assert lines(400.0, 20.0, 4.0, steps=30.0) == pytest.approx(2.6, rel=0.01)
    assert lines(0.0, 20.0, 0.4) == 0.0


def test_ramps_cost_more_on_short_lines() -> None:
    """The same length in many short lines takes longer, and more strokes from rest longer still."""
    slow = [lines(400.0, chord, 0.4, pull=1000.0) for chord in (80.0, 20.0, 5.0, 1.0)]
    assert slow == sorted(slow)
    assert slow[0] > lines(400.0, 80.0, 0.4)
    assert lines(400.0, 20.0, 4.0, pull=1000.0, strokes=4.0) > lines(400.0, 20.0, 4.0, pull=1000.0)


def support(**own: float) -> SimpleNamespace:
    """Two layers, the first without any support."""
    keys = {
        "support_mm2": 0.0,
        "support_solid_mm2": 0.0,
        "support_wall_mm2": 0.0,
        "support_line_mm": 0.0,
        "support_islands": 0.0,
        **own,
    }
    columns = {key: np.array([0.0, value]) for key, value in keys.items()}

    class Beads(SimpleNamespace):
        def __len__(self) -> int:
            return 2

    return Beads(**columns, support_spacing_mm=4.0, solid_spacing_mm=0.4)


PACE = SimpleNamespace(support=np.array([50.0, 50.0]))
SWIFT = replace(
    Motion(), acceleration=1e5, travel_acceleration=1e5, fill_acceleration=None, support_acceleration=None,
    travel_speed=100.0, retract_s=0.5,
)  # fmt: skip
PLA = Filament("PLA", "PLA", 1.24, 1.24)


def seconds(filament: Filament = PLA, motion: Motion = SWIFT, **own: float) -> float:
    found = support_seconds(support(**own), PACE, filament, motion)  # type: ignore[arg-type]
    assert found[0] == 0.0
    return float(found[1])


def test_support_without_ramps_by_hand() -> None:
    """Sparse lines 4 apart, solid ones 0.4 apart, at 50 mm/s; a travel and a retraction an island."""
    way = math.sqrt(400.0) / 100.0 + 0.5
    assert seconds(support_mm2=400.0, support_line_mm=100.0) == pytest.approx(2.0 + way, rel=0.02)
    assert seconds(support_mm2=400.0, support_line_mm=150.0) == pytest.approx(3.0 + way, rel=0.02)
    assert seconds(support_solid_mm2=400.0) == pytest.approx(20.0 + way, rel=0.02)
    assert seconds(support_wall_mm2=400.0) == pytest.approx(20.0 + way, rel=0.02)
    both = seconds(support_mm2=400.0, support_line_mm=100.0, support_islands=4.0)
    assert both == pytest.approx(2.0 + 4 * (math.sqrt(100.0) / 100.0 + 0.5), rel=0.03)


def test_foaming_filament_is_not_retracted() -> None:
    """Half a second less for every island."""
    foam = replace(PLA, foaming=True)
    asked = {"support_solid_mm2": 40.0, "support_islands": 3.0}
    assert seconds(**asked) - seconds(foam, **asked) == pytest.approx(1.5)
    assert seconds() == 0.0
