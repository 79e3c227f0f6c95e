"""Compiled: the wishes for one bed as numbers."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]


@compiled(nogil=True)
def threat(middles: Floats, angles: Floats, half: Floats, tall: Floats, slender: Flags) -> float:
    """How deep pieces lie in the bands that toppling slender pieces sweep, as shares of their heights."""
    n, total = len(middles), 0.0
    for a in range(n):
        if not slender[a]:
            continue
        cos, sin = math.cos(angles[a]), math.sin(angles[a])
        for b in range(n):
            if b == a:
                continue
            dx, dy = middles[b, 0] - middles[a, 0], middles[b, 1] - middles[a, 1]
            along, across = dx * cos + dy * sin, -dx * sin + dy * cos
            c, s = abs(math.cos(angles[b] - angles[a])), abs(math.sin(angles[b] - angles[a]))
            # half of what b's rectangle spans along and across a
            far, side = half[b, 0] * c + half[b, 1] * s, half[b, 0] * s + half[b, 1] * c
            if abs(along) >= half[a, 0] + far:
                continue
            gap = max(abs(across) - side - half[a, 1], 0.0)
            total += max(1.0 - gap / tall[a], 0.0)
    return total


@compiled(nogil=True)
def askew(angles: Floats, long: Flags, axis: float) -> float:
    """Sum of the sines between long pieces and the steady axis."""
    total = 0.0
    for n in range(len(angles)):
        if long[n]:
            total += abs(math.sin(angles[n] - axis))
    return total


@compiled(nogil=True)
def spread(middles: Floats, group: Ints, groups: int, size: float) -> float:
    """Distances of pieces from the middle of their section on this bed, as shares of the bed's diagonal."""
    total = 0.0
    for g in range(groups):
        x, y, many = 0.0, 0.0, 0
        for n in range(len(middles)):
            if group[n] == g:
                x, y, many = x + middles[n, 0], y + middles[n, 1], many + 1
        for n in range(len(middles)):
            if group[n] == g:
                total += math.hypot(middles[n, 0] - x / many, middles[n, 1] - y / many)
    return total / size
