"""Compiled speed planning along paths: backward pass, forward pass, seconds."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

OPEN, CLOSED, ROLLING = 0, 1, 2  # how a path ends: at its last point, at its first at rest, or lap on lap
SHORTEST_MOVE = 1e-9  # mm; under it two points are one and the move has no direction

Floats = NDArray[np.float64]


@compiled()
def move_seconds(length: float, speed: float, acceleration: float, entry: float, leave: float) -> float:
    """Seconds of one straight move; the passes have made ``entry`` and ``leave`` reachable."""
    peak2 = (2.0 * acceleration * length + entry * entry + leave * leave) / 2.0
    if peak2 >= speed * speed:
        ramps = (2.0 * speed * speed - entry * entry - leave * leave) / (2.0 * acceleration)
        return (2.0 * speed - entry - leave) / acceleration + (length - ramps) / speed
    return (2.0 * math.sqrt(peak2) - entry - leave) / acceleration


@compiled()
def junction_speed2(cosine: float, acceleration: float, deviation: float) -> float:
    """Square of the speed at a corner; ``cosine`` is that of the turn (1 = straight on).

    The angle between the segments is theta = 180 degrees - turn, so sin(theta/2) = cos(turn/2).
    """
    half = math.sqrt(max(0.0, (1.0 + cosine) / 2.0))
    if half > 1.0 - 1e-12:
        return math.inf
    return acceleration * deviation * half / (1.0 - half)


@compiled()
def plan_speeds(lengths: Floats, count: int, speeds2: Floats, acceleration: float) -> None:
    """Lower the limits ``speeds2`` (count + 1 squares) until each is reachable from its neighbours."""
    for i in range(count - 1, -1, -1):
        reach = speeds2[i + 1] + 2.0 * acceleration * lengths[i]
        speeds2[i] = min(speeds2[i], reach)
    for i in range(count):
        reach = speeds2[i] + 2.0 * acceleration * lengths[i]
        speeds2[i + 1] = min(speeds2[i + 1], reach)


@compiled()
def planned_seconds(lengths: Floats, count: int, speeds2: Floats, speed: float, acceleration: float) -> float:
    """Seconds over ``count`` moves; ``speeds2`` comes as limits and leaves as planned speeds squared."""
    for i in range(count + 1):
        speeds2[i] = min(speeds2[i], speed * speed)
    plan_speeds(lengths, count, speeds2, acceleration)
    total = 0.0
    for i in range(count):
        total += move_seconds(
            lengths[i], speed, acceleration, math.sqrt(speeds2[i]), math.sqrt(speeds2[i + 1])
        )
    return total


@compiled()
def _gather(points: Floats, first: int, last: int, closed: bool, lengths: Floats, units: Floats) -> int:
    """Lengths and directions of the moves of one path, without those too short to have one."""
    count = 0
    x, y = points[first, 0], points[first, 1]
    steps = last - first if closed else last - first - 1
    for step in range(1, steps + 1):
        at = first + step if first + step < last else first
        dx, dy = points[at, 0] - x, points[at, 1] - y
        length = math.sqrt(dx * dx + dy * dy)
        if length < SHORTEST_MOVE:
            continue
        lengths[count] = length
        units[count, 0], units[count, 1] = dx / length, dy / length
        count += 1
        x, y = points[at, 0], points[at, 1]
    return count


@compiled()
def _limits(
    units: Floats, count: int, mode: int, acceleration: float, deviation: float, speeds2: Floats
) -> None:
    """Corner limits before each move and after the last: at rest, or the corner where a lap closes."""
    for i in range(1, count):
        cosine = units[i - 1, 0] * units[i, 0] + units[i - 1, 1] * units[i, 1]
        speeds2[i] = junction_speed2(cosine, acceleration, deviation)
    speeds2[0] = 0.0
    if mode == ROLLING:
        cosine = units[count - 1, 0] * units[0, 0] + units[count - 1, 1] * units[0, 1]
        speeds2[0] = junction_speed2(cosine, acceleration, deviation)
    speeds2[count] = speeds2[0]


@compiled()
def _turned(lengths: Floats, count: int, speeds2: Floats, spare: Floats) -> None:
    """Begin a rolling lap at its slowest corner: only there the speed is known beforehand."""
    slowest = 0
    for i in range(count):
        if speeds2[i] < speeds2[slowest]:
            slowest = i
    if slowest == 0:
        return
    for array in (lengths, speeds2):
        for i in range(count):
            spare[i] = array[(i + slowest) % count]
        for i in range(count):
            array[i] = spare[i]
    speeds2[count] = speeds2[0]


@compiled()
def path_seconds(
    points: Floats,
    offsets: NDArray[np.int64],
    modes: NDArray[np.int64],
    speeds: Floats,
    acceleration: float,
    deviation: float,
) -> Floats:
    """Seconds of every path: ``points[offsets[k]:offsets[k + 1]]`` at ``speeds[k]``."""
    paths = len(offsets) - 1
    longest = 0
    for k in range(paths):
        longest = max(longest, offsets[k + 1] - offsets[k])
    lengths, units = np.empty(longest + 1), np.empty((longest + 1, 2))
    speeds2, spare = np.empty(longest + 2), np.empty(longest + 1)
    seconds = np.zeros(paths)
    for k in range(paths):
        first, last = offsets[k], offsets[k + 1]
        if last - first < 2:
            continue
        count = _gather(points, first, last, modes[k] >= CLOSED, lengths, units)
        if count == 0:
            continue
        _limits(units, count, modes[k], acceleration, deviation, speeds2)
        if modes[k] == ROLLING:
            _turned(lengths, count, speeds2, spare)
        seconds[k] = planned_seconds(lengths, count, speeds2, speeds[k], acceleration)
    return seconds


@compiled()
def _between(length: float, speed: float, acceleration: float, entry: float, leave: float) -> float:
    """As `move_seconds`, an end speed that cannot be reached from the other lowered to what can."""
    grown = 2.0 * acceleration * length
    v0 = min(entry, math.sqrt(leave * leave + grown))
    v1 = min(leave, math.sqrt(entry * entry + grown))
    return move_seconds(length, speed, acceleration, v0, v1)


@compiled()
def line_seconds(
    areas: Floats,
    chords: Floats,
    speeds: Floats,
    steps: Floats,
    strokes: Floats,
    cosines: Floats,
    spacing: float,
    bead: float,
    accelerations: Floats,
    deviation: float,
) -> Floats:
    """Seconds of lines to and fro over every area; see `planner.estimate.time.lines.line_seconds`."""
    seconds = np.zeros(areas.shape[0])
    touching = spacing <= 1.001 * bead
    for i in range(areas.shape[0]):
        if areas[i] <= 0.0:
            continue
        speed, acceleration = speeds[i], accelerations[i]
        blunt = min(math.sqrt(junction_speed2(cosines[i], acceleration, deviation)), speed)
        sharp = min(math.sqrt(junction_speed2(-cosines[i], acceleration, deviation)), speed)
        chord = max(chords[i], bead)  # an area narrower than one bead is one line along it
        lines = areas[i] / (spacing * chord)
        begun = min(lines, max(strokes[i], 1.0))
        joints = lines - begun
        step = steps[i] / joints if joints > 0.0 else 0.0
        if touching:
            step = spacing / math.sqrt(max(1.0 - cosines[i] * cosines[i], 0.25))
        run = max(chord - step, 0.0) if touching else chord
        one = 0.5 * (
            _between(run, speed, acceleration, blunt, blunt)
            + _between(run, speed, acceleration, sharp, sharp)
        )
        from_rest = _between(run, speed, acceleration, 0.0, 0.5 * (blunt + sharp)) - one
        seconds[i] = lines * one + 2.0 * begun * max(from_rest, 0.0)
        if joints > 1e-9:
            seconds[i] += joints * _between(step, speed, acceleration, blunt, sharp)
        elif not touching:
            seconds[i] += steps[i] / speed
    return seconds
