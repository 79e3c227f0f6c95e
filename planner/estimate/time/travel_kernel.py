"""Compiled tours from ring to ring of a layer."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from planner.compiled.jit import compiled
from planner.estimate.time.motion_kernel import move_seconds

Floats = NDArray[np.float64]
MOST_RINGS = 400  # beyond it a layer is toured in the order in which its rings are given


@compiled()
def tour_seconds(
    points: Floats,
    ring_starts: NDArray[np.int64],
    first: int,
    last: int,
    speed: float,
    acceleration: float,
    free: NDArray[np.bool_],
) -> float:
    """Seconds of travel over the first points of rings ``first`` .. ``last - 1``, nearest one next.

    Source: nearest-neighbour tour (the trade's usual order; not the shortest).
    """
    count = last - first
    total = 0.0
    at = first
    free[:count] = True
    free[0] = False
    for step in range(1, count):
        best, best_distance = first + step, math.inf
        if count <= MOST_RINGS:
            for other in range(count):
                if free[other]:
                    distance = _apart(points, ring_starts[at], ring_starts[first + other])
                    if distance < best_distance:
                        best, best_distance = first + other, distance
            free[best - first] = False
        else:
            best_distance = _apart(points, ring_starts[at], ring_starts[best])
        total += move_seconds(best_distance, speed, acceleration, 0.0, 0.0)
        at = best
    return total


@compiled()
def _apart(points: Floats, one: int, other: int) -> float:
    return math.hypot(points[one, 0] - points[other, 0], points[one, 1] - points[other, 1])


@compiled()
def tours(
    points: Floats,
    ring_starts: NDArray[np.int64],
    walked_starts: NDArray[np.int64],
    speed: float,
    acceleration: float,
) -> Floats:
    """Travel seconds from ring to ring of every walked layer."""
    layers = len(walked_starts) - 1
    seconds = np.zeros(layers)
    free = np.empty(len(ring_starts) + 1, dtype=np.bool_)
    for q in range(layers):
        if walked_starts[q + 1] - walked_starts[q] > 1:
            seconds[q] = tour_seconds(
                points, ring_starts, walked_starts[q], walked_starts[q + 1], speed, acceleration, free
            )
    return seconds
