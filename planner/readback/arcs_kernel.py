"""Compiled arcs in the plane of the bed: centre, sweep and box.

Source: geometry; the words by Kramer, Proctor and Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR
6556, 2000, section 3.5.3 (I and J from the start of the arc; a negative R is the longer way round).
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]

TURN = 2.0 * math.pi
SLACK_MM, SLACK = 0.02, 0.001  # what rounded words may leave open; the standard says 0.002 mm
SAME_MM = 1e-7  # sums of increments end so near where they began


@compiled()
def centre_of(
    x0: float, y0: float, x1: float, y1: float, radius: float, clockwise: bool
) -> tuple[float, float]:
    """Centre of an arc by its radius; not a number where the radius does not reach."""
    dx, dy = x1 - x0, y1 - y0
    chord = math.hypot(dx, dy)
    size = abs(radius)
    if chord > 2.0 * size:
        if chord > 2.0 * size + max(SLACK_MM, SLACK * size):
            return math.nan, math.nan
        size = chord / 2.0
    rise = math.sqrt(max(0.0, size * size - chord * chord / 4.0))
    left = clockwise != (radius > 0.0)  # the centre is left of the chord
    rise = rise if left else -rise
    return (x0 + x1) / 2.0 - rise * dy / chord, (y0 + y1) / 2.0 + rise * dx / chord


@compiled()
def sweep_of(x0: float, y0: float, x1: float, y1: float, cx: float, cy: float, clockwise: bool) -> float:
    """Signed angle from start to end, positive the left way round; a whole turn where both are one place."""
    if math.hypot(x1 - x0, y1 - y0) < SAME_MM:
        return -TURN if clockwise else TURN
    turn = math.atan2(y1 - cy, x1 - cx) - math.atan2(y0 - cy, x0 - cx)
    if clockwise:
        return turn - TURN if turn >= 0.0 else turn
    return turn + TURN if turn <= 0.0 else turn


@compiled()
def gap_of(x0: float, y0: float, x1: float, y1: float, cx: float, cy: float) -> float:
    """By how much the end lies further from the centre than the start, or nearer, beyond rounding."""
    near, far = math.hypot(x0 - cx, y0 - cy), math.hypot(x1 - cx, y1 - cy)
    gap = abs(far - near)
    return gap if gap > max(SLACK_MM, SLACK * near) else 0.0


@compiled()
def widen(box: Floats, x: float, y: float) -> None:
    """Let a box (low x, low y, high x, high y) hold a point."""
    box[0], box[1] = min(box[0], x), min(box[1], y)
    box[2], box[3] = max(box[2], x), max(box[3], y)


@compiled()
def widen_by_arc(box: Floats, x0: float, y0: float, cx: float, cy: float, sweep: float) -> None:
    """Let a box hold the outermost points of an arc, which begins at ``x0, y0``."""
    radius, begin = math.hypot(x0 - cx, y0 - cy), math.atan2(y0 - cy, x0 - cx)
    low, high = min(begin, begin + sweep), max(begin, begin + sweep)
    quarter = math.ceil(low / (math.pi / 2.0))
    while quarter * math.pi / 2.0 <= high:
        angle = quarter * math.pi / 2.0
        widen(box, cx + radius * math.cos(angle), cy + radius * math.sin(angle))
        quarter += 1
