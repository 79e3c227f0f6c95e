"""Where in an outline a label has most room: geometry only, no words."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

Ring = Sequence[tuple[float, float]]
Floats = NDArray[np.float64]
_GRID = 17
_SHIFTS = [0.0, 0.1, -0.1, 0.2, -0.2, 0.3, -0.3]
_TRIES = np.array([(u, v) for _, u, v in sorted((abs(u) + abs(v), u, v) for u in _SHIFTS for v in _SHIFTS)])


def corners(ring: Ring) -> Floats:
    """The corners of an outline, (n, 2)."""
    return np.ascontiguousarray(ring, dtype=np.float64)


def flat(rings: Iterable[Ring]) -> tuple[Floats, NDArray[np.int64]]:
    """The corners of all outlines one after another, (n, 2), and where each begins, (m + 1,)."""
    every = [corners(ring) for ring in rings]
    starts = np.cumsum([0, *map(len, every)], dtype=np.int64)
    return np.concatenate([np.empty((0, 2)), *every]), starts


def _sides(ring: Ring) -> tuple[Floats, Floats]:
    start = corners(ring)
    return start, np.roll(start, -1, axis=0)


def inside(ring: Ring, points: Floats) -> NDArray[np.bool_]:
    """Which of the (k, 2) points lie inside, by the even-odd rule (Source: geometry, ray casting)."""
    a, b = _sides(ring)
    x, y = points[:, :1], points[:, 1:]
    straddles = (a[:, 1] > y) != (b[:, 1] > y)
    run = np.where(b[:, 1] == a[:, 1], 1.0, b[:, 1] - a[:, 1])
    crossing = a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / run
    found: NDArray[np.bool_] = (np.sum(straddles & (x < crossing), axis=1) % 2).astype(bool)
    return found


def distance(ring: Ring, points: Floats) -> Floats:
    """Distance of the (k, 2) points from the outline, (k,)."""
    a, b = _sides(ring)
    along = b - a
    square = np.maximum((along**2).sum(axis=1), 1e-12)
    offset = points[:, None, :] - a[None]
    t = np.clip((offset * along[None]).sum(axis=2) / square, 0.0, 1.0)
    gap = offset - t[..., None] * along[None]
    result: Floats = np.sqrt((gap**2).sum(axis=2)).min(axis=1)
    return result


def roomiest(ring: Ring) -> tuple[float, float, float]:
    """The grid point inside that is farthest from the outline, and that distance.

    A 17 x 17 grid over the box of the outline: good enough for lettering.
    """
    return Space(ring).roomiest


def box_spot(ring: Ring, width: float, height: float) -> tuple[float, float] | None:
    """Where a box fits into the outline, as near to the roomiest point as it can be; else ``None``."""
    return Space(ring).box_spot(width, height)


class Space:
    """The room in an outline; its roomiest point is looked for once."""

    def __init__(self, ring: Ring) -> None:
        self._ring = corners(ring)
        self._low, self._high = self._ring.min(axis=0), self._ring.max(axis=0)
        self.roomiest = self._roomiest()

    def _roomiest(self) -> tuple[float, float, float]:
        from planner.report.drawings.label_kernel import roomiest_of

        low, high = self._low, self._high
        step = (np.arange(_GRID) + 0.5) / _GRID
        xs, ys = np.meshgrid(low[0] + step * (high[0] - low[0]), low[1] + step * (high[1] - low[1]))
        grid = np.stack([xs.ravel(), ys.ravel()], axis=1)
        best, room = roomiest_of(self._ring, grid)
        if best < 0:
            middle = (low + high) / 2
            return float(middle[0]), float(middle[1]), 0.0
        return float(grid[best, 0]), float(grid[best, 1]), float(room)

    def box_spot(self, width: float, height: float) -> tuple[float, float] | None:
        """Where a box fits, its rim sampled every half millimetre or so; else ``None``."""
        from planner.report.drawings.label_kernel import first_inside

        size = self._high - self._low
        if width > size[0] or height > size[1]:
            return None
        centres = np.array(self.roomiest[:2]) + _TRIES * size
        found = first_inside(self._ring, centres, _rim(width, height))
        return None if found < 0 else (float(centres[found, 0]), float(centres[found, 1]))


def _rim(width: float, height: float) -> Floats:
    steps_x = np.linspace(-width / 2, width / 2, max(3, int(width / 0.5)))
    steps_y = np.linspace(-height / 2, height / 2, max(3, int(height / 0.5)))
    return np.concatenate(
        [np.stack([steps_x, np.full_like(steps_x, side)], axis=1) for side in (-height / 2, height / 2)]
        + [np.stack([np.full_like(steps_y, side), steps_y], axis=1) for side in (-width / 2, width / 2)]
    )
