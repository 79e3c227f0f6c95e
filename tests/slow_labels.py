"""The lettering of a bed plan by plain arrays and no haste: what compiled code must give, too."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from planner.report.drawings.label_places import Bounds, Label
from planner.report.drawings.label_spots import Ring, distance, inside
from planner.report.layout.drawing import SMALL, TEXT, text_width

NUMBER_ROOM, CIRCLE, GRID = 1.75, 2.4, 17


def slow_labels(rings: Mapping[str, Ring], numbers: Mapping[str, int], bounds: Bounds) -> dict[str, Label]:
    """A label for every piece."""
    made = {name: _inside(name, numbers[name], ring) for name, ring in rings.items()}
    taken = [(found.x, found.y) for found in made.values() if found is not None]
    labelled: dict[str, Label] = {}
    for name, ring in rings.items():
        found = made[name]
        if found is None:
            found = _outside(numbers[name], ring, list(rings.values()), taken, bounds)
            taken.append((found.x, found.y))
        labelled[name] = found
    return labelled


def _inside(name: str, number: int, ring: Ring) -> Label | None:
    words = f"{number}  {name}"
    for size in (TEXT, SMALL):
        width, height = text_width(words, size), 1.15 * size
        for wide, high, upright in ((width, height, False), (height, width, True)):
            spot = _spot(ring, wide, high)
            if spot:
                return Label(words, *spot, size, upright=upright)
    x, y, room = _roomiest(ring)
    return Label(str(number), x, y, TEXT) if room >= NUMBER_ROOM else None


def _outside(
    number: int,
    ring: Ring,
    rings: Sequence[Ring],
    taken: Sequence[tuple[float, float]],
    bounds: Bounds,
) -> Label:
    x, y, _ = _roomiest(ring)
    for reach in np.arange(4.0, 40.0, 1.5):
        for k in range(24):
            angle = math.pi * (k / 12.0) - math.pi / 2
            u, v = x + reach * math.cos(angle), y + reach * math.sin(angle)
            within = bounds[0] + CIRCLE <= u <= bounds[2] - CIRCLE and (
                bounds[1] + CIRCLE <= v <= bounds[3] - CIRCLE
            )
            point = np.array([[u, v]])
            if (
                within
                and all(math.hypot(u - a, v - b) >= 2 * CIRCLE for a, b in taken)
                and not any(inside(r, point)[0] or distance(r, point)[0] < CIRCLE for r in rings)
            ):
                return Label(str(number), float(u), float(v), TEXT, leader=(x, y))
    return Label(str(number), x, y, SMALL)


def _roomiest(ring: Ring) -> tuple[float, float, float]:
    points = np.asarray(ring, dtype=np.float64)
    low, high = points.min(axis=0), points.max(axis=0)
    step = (np.arange(GRID) + 0.5) / GRID
    xs, ys = np.meshgrid(low[0] + step * (high[0] - low[0]), low[1] + step * (high[1] - low[1]))
    grid = np.stack([xs.ravel(), ys.ravel()], axis=1)
    room = np.where(inside(ring, grid), distance(ring, grid), -1.0)
    best = int(np.argmax(room))
    if room[best] < 0.0:
        middle = (low + high) / 2
        return float(middle[0]), float(middle[1]), 0.0
    return float(grid[best, 0]), float(grid[best, 1]), float(room[best])


def _rim(width: float, height: float) -> NDArray[np.float64]:
    across = np.linspace(-width / 2, width / 2, max(3, int(width / 0.5)))
    along = np.linspace(-height / 2, height / 2, max(3, int(height / 0.5)))
    sides = [[(x, side) for x in across] for side in (-height / 2, height / 2)]
    ends = [[(side, y) for y in along] for side in (-width / 2, width / 2)]
    return np.array([point for line in (*sides, *ends) for point in line])


def _spot(ring: Ring, width: float, height: float) -> tuple[float, float] | None:
    points = np.asarray(ring, dtype=np.float64)
    low, high = points.min(axis=0), points.max(axis=0)
    if width > high[0] - low[0] or height > high[1] - low[1]:
        return None
    x0, y0, _ = _roomiest(ring)
    shifts = [0.0, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3]
    tries = sorted((abs(u) + abs(v), u, v) for u in shifts for v in shifts)
    centres = np.array([x0, y0]) + np.array([(u, v) for _, u, v in tries]) * (high - low)
    rim = _rim(width, height)
    held = inside(ring, (centres[:, None, :] + rim[None]).reshape(-1, 2)).reshape(len(centres), len(rim))
    if not held.all(axis=1).any():
        return None
    x, y = centres[int(held.all(axis=1).argmax())]
    return float(x), float(y)
