"""Where in an outline a label has most room: geometry only, no words."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Ring = Sequence[tuple[float, float]]
_GRID = 17


def _sides(ring: Ring) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    start = np.asarray(ring, dtype=np.float64)
    return start, np.roll(start, -1, axis=0)


def inside(ring: Ring, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which of the (k, 2) points lie inside, by the even-odd rule (Source: geometry, ray casting)."""
    a, b = _sides(ring)
    x, y = points[:, :1], points[:, 1:]
    straddles = (a[:, 1] > y) != (b[:, 1] > y)
    run = np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
    crossing = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / run
    found: NDArray[np.bool_] = (np.sum(straddles & (x < crossing), axis=1) % 2).astype(bool)
    return found


def distance(ring: Ring, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Distance of the (k, 2) points from the outline, (k,)."""
    a, b = _sides(ring)
    along = b - a
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    offset = points[:, None, :] - a[None]
    t = np.clip((offset * along[None]).sum(axis=2) / square, 0.0, 1.0)
    gap = offset - t[..., None] * along[None]
    result: NDArray[np.float64] = np.sqrt((gap**2).sum(axis=2)).min(axis=1)
    return result


def roomiest(ring: Ring) -> tuple[float, float, float]:
    """The grid point inside that is farthest from the outline, and that distance.

    A 17 x 17 grid over the box of the outline: good enough for lettering.
    """
    return _roomiest(tuple((float(x), float(y)) for x, y in ring))


@lru_cache(maxsize=4096)  # several sheets draw the same outline
def _roomiest(ring: tuple[tuple[float, float], ...]) -> tuple[float, float, float]:
    points = np.asarray(ring, dtype=np.float64)
    low, high = points.min(axis=0), points.max(axis=0)
    step = (np.arange(_GRID) + 0.5) / _GRID
    xs, ys = np.meshgrid(low[0] + step * (high[0] - low[0]), low[1] + step * (high[1] - low[1]))
    grid = np.stack([xs.ravel(), ys.ravel()], axis=1)
    room = np.where(inside(ring, grid), distance(ring, grid), -1.0)
    best = int(np.argmax(room))
    if room[best] < 0.0:
        middle = (low + high) / 2
        return float(middle[0]), float(middle[1]), 0.0
    return float(grid[best, 0]), float(grid[best, 1]), float(room[best])


def holds_box(ring: Ring, x: float, y: float, width: float, height: float) -> bool:
    """Whether a box centred at (x, y) lies inside: its rim is sampled every half millimetre or so."""
    return bool(inside(ring, _rim(width, height) + np.array([x, y])).all())


def _rim(width: float, height: float) -> NDArray[np.float64]:
    steps_x = np.linspace(-width / 2, width / 2, max(3, int(width / 0.5)))
    steps_y = np.linspace(-height / 2, height / 2, max(3, int(height / 0.5)))
    return np.concatenate(
        [np.stack([steps_x, np.full_like(steps_x, side)], axis=1) for side in (-height / 2, height / 2)]
        + [np.stack([np.full_like(steps_y, side), steps_y], axis=1) for side in (-width / 2, width / 2)]
    )


def box_spot(ring: Ring, width: float, height: float) -> tuple[float, float] | None:
    """Where a box fits into the outline, as near to the roomiest point as it can be; else ``None``."""
    return _box_spot(tuple((float(x), float(y)) for x, y in ring), width, height)


@lru_cache(maxsize=4096)
def _box_spot(
    ring: tuple[tuple[float, float], ...], width: float, height: float
) -> tuple[float, float] | None:
    points = np.asarray(ring, dtype=np.float64)
    low, high = points.min(axis=0), points.max(axis=0)
    if width > high[0] - low[0] or height > high[1] - low[1]:
        return None
    x0, y0, _ = roomiest(ring)
    if holds_box(ring, x0, y0, width, height):
        return x0, y0
    shifts = [0.0, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3]
    tries = sorted((abs(u) + abs(v), u, v) for u in shifts for v in shifts)
    centres = np.array([x0, y0]) + np.array([(u, v) for _, u, v in tries]) * (high - low)
    rim = _rim(width, height)
    every = (centres[:, None, :] + rim[None]).reshape(-1, 2)
    held = inside(ring, every).reshape(len(centres), len(rim)).all(axis=1)
    if not held.any():
        return None
    x, y = centres[int(held.argmax())]
    return float(x), float(y)
