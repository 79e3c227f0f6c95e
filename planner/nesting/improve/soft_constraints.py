"""What a builder would like of a bed beyond its rules, as numbers to make small.

``threat``: a slender piece that topples falls across its narrow side and sweeps a band as long as it is
tall; each neighbour in the band counts by how deep it lies in it. ``askew``: how far long thin pieces
are from the axis along which the printer moves least. ``spread``: how far pieces lie from the middle of
their section on this bed. Source of the shapes: geometry; that these three are wanted, and the two
ratios below, are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar.flat import turned_point
from planner.geometry.planar.outline_offset import hull
from planner.model.batch import Placed
from planner.model.printer import Outline
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind, Item

Floats = NDArray[np.float64]

SLENDER = 3.0  # a piece taller than so many times its narrow side may topple
LONG = 3.0  # a piece longer than so many times its width is long and thin
_WEIGHTS = (1.0, 0.5, 0.2)  # a piece that takes its neighbour along is the worst of the three


@dataclass(frozen=True, slots=True)
class Frame:
    """The tightest rectangle round an outline: its middle, half sides, angle of the long one in radians."""

    x: float
    y: float
    long: float
    wide: float
    angle: float


@lru_cache(maxsize=4096)
def frame_of(outline: Outline) -> Frame:
    """The rectangle of least area, which has a side along an edge of the hull.

    By hand: which of two equal rectangles is taken decides how pieces are laid, and the polygon library takes
    another one, or one of least width, from version to version. It is found once for each outline.

    Source: H. Freeman and R. Shapira, Communications of the ACM 18 (1975), 409-413.
    """
    rim = hull(np.asarray(outline, dtype=np.float64))
    best = np.inf, Frame(0.0, 0.0, 0.0, 0.0, 0.0)
    for ux, uy in np.roll(rim, -1, axis=0) - rim:
        angle = float(np.arctan2(uy, ux))
        cos, sin = np.cos(angle), np.sin(angle)
        along, across = rim @ np.array([cos, sin]), rim @ np.array([-sin, cos])
        half = np.ptp(along) / 2.0, np.ptp(across) / 2.0
        middle = along.min() + half[0], across.min() + half[1]
        x, y = cos * middle[0] - sin * middle[1], sin * middle[0] + cos * middle[1]
        if half[0] < half[1]:
            half, angle = (half[1], half[0]), angle + np.pi / 2.0
        if half[0] * half[1] < best[0] - 1e-9:
            best = half[0] * half[1], Frame(float(x), float(y), float(half[0]), float(half[1]), float(angle))
    return best[1]


class SoftConstraints:
    """The wishes for the pieces of one bed; positions are those of the middles of their frames."""

    def __init__(self, items: Sequence[Item], kind: BedKind) -> None:
        self.frames = [frame_of(item.outline) for item in items]
        self._half = np.array([[f.long, f.wide] for f in self.frames])
        self._tall = np.array([item.height_mm for item in items])
        self._slender = self._tall > SLENDER * 2.0 * self._half[:, 1]
        self._long = self._half[:, 0] > LONG * self._half[:, 1]
        self._axis = {"": None, "x": 0.0, "y": np.pi / 2.0}[kind.steady_axis]
        groups = sorted({item.group for item in items})
        self._group = np.array([groups.index(item.group) for item in items])
        self._groups = len(groups)
        x0, y0, x1, y1 = free_region(kind.bed).bounds
        self._size = float(np.hypot(x1 - x0, y1 - y0)) or 1.0
        self._angles = np.array([f.angle for f in self.frames])
        steady = self._axis is not None and bool(self._long.any())
        self.any = len(items) > 0 and (bool(self._slender.any()) or steady or self._groups > 1)

    def start(self, placed: Sequence[Placed]) -> tuple[Floats, Floats]:
        """Middles (n, 2) and turns in degrees (n,) of pieces that lie."""
        turns = np.array([p.turn_deg for p in placed])
        middles = np.array([self.middle(n, p.x_mm, p.y_mm, p.turn_deg) for n, p in enumerate(placed)])
        return middles, turns

    def middle(self, n: int, x: float, y: float, turn_deg: float) -> tuple[float, float]:
        """The middle of piece n whose origin lies at (x, y)."""
        u, v = turned_point(self.frames[n].x, self.frames[n].y, turn_deg)
        return x + u, y + v

    def origin(self, n: int, middle: Floats, turn_deg: float) -> tuple[float, float]:
        """The origin of piece n whose middle lies there."""
        u, v = turned_point(self.frames[n].x, self.frames[n].y, turn_deg)
        return float(middle[0]) - u, float(middle[1]) - v

    def angle(self, n: int) -> float:
        """Degrees from x to the long side of piece n at turn 0."""
        return float(np.degrees(self.frames[n].angle))

    def values(self, middles: Floats, turns: Floats) -> tuple[float, float, float]:
        """Threat, askew and spread; all are nought when nothing is left to wish."""
        if not self.any:
            return 0.0, 0.0, 0.0
        from planner.nesting.improve import soft_constraints_kernel as kernel

        angles = np.radians(turns) + self._angles
        return (
            kernel.threat(middles, angles, self._half, self._tall, self._slender),
            0.0 if self._axis is None else kernel.askew(angles, self._long, self._axis),
            0.0 if self._groups < 2 else kernel.spread(middles, self._group, self._groups, self._size),
        )

    def cost(self, middles: Floats, turns: Floats) -> float:
        """The three weighed."""
        return sum(
            weight * value for weight, value in zip(_WEIGHTS, self.values(middles, turns), strict=True)
        )
