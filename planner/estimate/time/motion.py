"""Seconds that a machine takes along paths, with ramps and corners.

The machine looks ahead over a whole path: every move is a trapezoid or a triangle of speed, every
corner has a limit, and no speed is higher than the machine can brake from.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from planner.errors import InputError

Floats = NDArray[np.float64]


def path_seconds(
    points: ArrayLike,
    offsets: ArrayLike,
    closed: ArrayLike,
    speed: ArrayLike,
    acceleration: float,
    corner_deviation: float,
    *,
    rolling: ArrayLike = False,
) -> Floats:
    """Seconds of each path, from rest to rest, with the corners taken at their limit.

    Parameters
    ----------
    points : (n, 2) mm, the points of all paths one after the other
    offsets : (k + 1,) where each path begins, and the end of the last
    closed : (k,) bool, whether a path returns to its first point
    speed : one value or (k,), mm/s
    acceleration : mm/s2
    corner_deviation : mm by which the model rounds a corner
    rolling : one value or (k,) bool; such closed paths are laps of one path that never stops (a spiral)

    Returns
    -------
    (k,) float64 s; zero for a path without length

    Raises
    ------
    InputError
        when a limit is not above zero or the shapes do not agree

    Source: trapezoid and triangle, mechanics; corner limit
    v^2 = a d sin(theta/2) / (1 - sin(theta/2)) and the two passes, S. Jeon 2011, as used in the
    open motion controller grbl (planner.c).
    Assumes: one acceleration for all directions, no limit on jerk.
    """
    from planner.estimate.time import motion_kernel

    xy = np.ascontiguousarray(points, dtype=np.float64)
    starts = np.ascontiguousarray(offsets, dtype=np.int64)
    loops = np.asarray(closed, dtype=bool)
    paths = len(starts) - 1
    if paths <= 0:
        return np.zeros(0)
    if xy.ndim != 2 or xy.shape[1] != 2 or loops.shape != (paths,):
        raise InputError(f"paths need (n, 2) points and one closed flag each, not {xy.shape}, {loops.shape}.")
    if starts[0] < 0 or starts[-1] > len(xy) or (np.diff(starts) < 0).any():
        raise InputError("the offsets of the paths do not rise within the points.")
    speeds = np.ascontiguousarray(np.broadcast_to(np.asarray(speed, dtype=np.float64), (paths,)))
    if not (speeds > 0.0).all() or not acceleration > 0.0 or not corner_deviation > 0.0:
        raise InputError("speed, acceleration and corner deviation must be above zero.")
    laps = np.broadcast_to(np.asarray(rolling, dtype=bool), (paths,)) & loops
    modes = np.where(loops, motion_kernel.CLOSED, motion_kernel.OPEN)
    modes = np.where(laps, motion_kernel.ROLLING, modes).astype(np.int64)
    seconds: Floats = motion_kernel.path_seconds(
        xy, starts, modes, speeds, float(acceleration), float(corner_deviation)
    )
    return seconds


def move_seconds(
    length: ArrayLike, speed: ArrayLike, acceleration: float, entry: ArrayLike = 0.0, leave: ArrayLike = 0.0
) -> Floats:
    """Seconds of straight moves of ``length`` mm, from ``entry`` to ``leave`` mm/s; arrays broadcast.

    Source: mechanics. Trapezoid where the peak reaches ``speed``, else triangle with the peak
    sqrt((2 a d + v0^2 + v1^2) / 2).
    Assumes: both end speeds are at most ``speed``; where one cannot be reached from the other it
    is lowered to what can.
    """
    run, cruise = np.asarray(length, dtype=np.float64), np.asarray(speed, dtype=np.float64)
    first, last = np.minimum(entry, cruise), np.minimum(leave, cruise)
    grown = 2.0 * acceleration * run
    v0 = np.minimum(first, np.sqrt(last**2 + grown))
    v1 = np.minimum(last, np.sqrt(first**2 + grown))
    peak = np.minimum(np.sqrt((grown + v0**2 + v1**2) / 2.0), cruise)
    ramps = (2.0 * peak**2 - v0**2 - v1**2) / (2.0 * acceleration)
    seconds: Floats = (2.0 * peak - v0 - v1) / acceleration + np.maximum(run - ramps, 0.0) / peak.clip(1e-12)
    return seconds
