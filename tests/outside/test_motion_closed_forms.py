"""Motion against mechanics done by hand and the corner model of the open controller grbl (S. Jeon 2011)."""

import numpy as np
import pytest

from planner.estimate.time.motion import move_seconds, path_seconds
from planner.estimate.time.motion_kernel import junction_speed2

SEVEN_DIGITS = 1e-6  # the check values are rounded to six or seven digits
SIX_DIGITS = 5e-6


def corner_speed(turn_deg, acceleration, deviation):
    """Speed at a corner as the compiled planning takes it."""
    return np.sqrt(junction_speed2(float(np.cos(np.radians(turn_deg))), acceleration, deviation))


@pytest.mark.parametrize(
    ("length", "speed", "acceleration", "entry", "leave", "seconds"),
    [
        (100.0, 50.0, 1000.0, 0.0, 0.0, 2.05),
        (1.0, 100.0, 1000.0, 0.0, 0.0, 0.0632456),
        (2.5, 50.0, 1000.0, 0.0, 0.0, 0.1),
        (10.0, 100.0, 1000.0, 0.0, 0.0, 0.2),
        (200.0, 120.0, 3000.0, 0.0, 0.0, 1.7066667),
        (50.0, 60.0, 500.0, 0.0, 0.0, 0.9533333),
        (10.0, 100.0, 1000.0, 10.0, 20.0, 0.1725),
    ],
)
def test_straight_move(length, speed, acceleration, entry, leave, seconds):
    """A straight move takes the seconds of its trapezoid or triangle."""
    assert move_seconds(length, speed, acceleration, entry, leave) == pytest.approx(seconds, rel=SEVEN_DIGITS)


@pytest.mark.parametrize(
    ("turn", "deviation", "speed"),
    [
        (30.0, 0.01, 16.8368),
        (45.0, 0.01, 11.0168),
        (60.0, 0.01, 8.0400),
        (90.0, 0.01, 4.913465),
        (120.0, 0.01, 3.162278),
        (135.0, 0.01, 2.4898),
        (30.0, 0.05, 37.6482),
        (45.0, 0.05, 24.6344),
        (60.0, 0.05, 17.9779),
        (90.0, 0.05, 10.986841),
        (120.0, 0.05, 7.071068),
        (135.0, 0.05, 5.5674),
    ],
)
def test_corner_table(turn, deviation, speed):
    """The corner limit follows the centripetal model over the whole table."""
    assert corner_speed(turn, 1000.0, deviation) == pytest.approx(speed, rel=1e-5)  # five printed digits


def test_straight_on_and_reversal():
    """A straight junction has no limit and a full reversal stops."""
    assert corner_speed(0.0, 1000.0, 0.05) == np.inf
    assert corner_speed(180.0, 1000.0, 0.05) == pytest.approx(0.0, abs=1e-6)


SQUARE = [[0.0, 0.0], [20.0, 0.0], [20.0, 20.0], [0.0, 20.0]]


def test_closed_square():
    """A square of 20 mm from rest to rest: three corners at 10.986841 mm/s, 1.513448 s in all."""
    seconds = path_seconds(SQUARE, [0, 4], [True], 60.0, 1000.0, 0.05)
    assert seconds[0] == pytest.approx(1.513448, rel=SIX_DIGITS)


def test_open_path_equals_the_closed_one():
    """Writing the first point again as the last one changes nothing."""
    again = [*SQUARE, SQUARE[0]]
    seconds = path_seconds(SQUARE + again, [0, 4, 9], [True, False], 60.0, 1000.0, 0.05)
    assert seconds[0] == seconds[1]


def test_look_ahead_over_short_moves():
    """Moves of 5, 0.5, 0.2, 5 mm with corners at 100, 100, 20 mm/s: 0.257845 s, limits passed back."""
    from planner.estimate.time.motion_kernel import planned_seconds

    speeds2 = np.array([0.0, 100.0, 100.0, 20.0, 0.0]) ** 2
    seconds = planned_seconds(np.array([5.0, 0.5, 0.2, 5.0]), 4, speeds2, 100.0, 1000.0)
    assert seconds == pytest.approx(0.257845, rel=SIX_DIGITS)
    assert np.sqrt(speeds2[1:4]) == pytest.approx([42.426407, 28.284271, 20.0], rel=SEVEN_DIGITS)


def test_square_lap_of_a_spiral():
    """A lap that never stops: four sides from corner speed to corner speed (hand: 1.493486 s)."""
    corner = 10.986841
    side = 2.0 * (60.0 - corner) / 1000.0 + (20.0 - (60.0**2 - corner**2) / 1000.0) / 60.0
    started_mid_side = [[10.0, 0.0], *SQUARE[1:], SQUARE[0]]
    seconds = path_seconds(
        SQUARE + started_mid_side, [0, 4, 9], [True, True], 60.0, 1000.0, 0.05, rolling=True
    )
    assert seconds == pytest.approx(4.0 * side, rel=SEVEN_DIGITS)


@pytest.mark.parametrize("radius", [3.0, 10.0, 40.0])
def test_circle(radius):
    """A circle of many chords takes circumference / v, and one ramp time v/a when it starts and stops."""
    turn = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    points = radius * np.column_stack([np.cos(turn), np.sin(turn)])
    length = 720 * 2.0 * radius * np.sin(np.pi / 720)
    ring = path_seconds(points, [0, 720], [True], 40.0, 1000.0, 0.05)
    lap = path_seconds(points, [0, 720], [True], 40.0, 1000.0, 0.05, rolling=True)
    assert ring[0] == pytest.approx(length / 40.0 + 40.0 / 1000.0, rel=SEVEN_DIGITS)
    assert lap[0] == pytest.approx(length / 40.0, rel=SEVEN_DIGITS)


def test_envelope_of_braking_curves():
    """Planned seconds equal the integral of ds / v under the lowest of all braking curves.

    The envelope min(v, sqrt(vj^2 + 2 a |s - sj|)) over all corners j needs no passes at all.
    """
    rng = np.random.default_rng(7)
    points = np.cumsum(rng.normal(0.0, 1.5, (30, 2)), axis=0)
    steps = np.diff(points, axis=0)
    lengths = np.hypot(*steps.T)
    heading = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    turns = np.abs((np.diff(heading) + 180.0) % 360.0 - 180.0)
    corners = np.array([0.0, *(corner_speed(turn, 800.0, 0.05) for turn in turns), 0.0])
    places = np.concatenate([[0.0], np.cumsum(lengths)])
    # the midpoint rule in u with s = start + length * (1 - cos u) / 2 takes the square-root ends well
    u = (np.arange(40000) + 0.5) * np.pi / 40000
    total = 0.0
    for start, length in zip(places[:-1], lengths, strict=True):
        s = start + length * (1.0 - np.cos(u)) / 2.0
        curves = np.sqrt(corners[:, None] ** 2 + 2.0 * 800.0 * np.abs(s - places[:, None]))
        speed = np.minimum(curves.min(axis=0), 70.0)
        total += float(np.sum(length * np.sin(u) / 2.0 / speed) * np.pi / 40000)
    seconds = path_seconds(points, [0, 30], [False], 70.0, 800.0, 0.05)
    assert seconds[0] == pytest.approx(total, rel=1e-6)  # quadrature error
