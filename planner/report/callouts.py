"""Names beside their marks: none over another, none over a drawn outline while there is room elsewhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from planner.report.colours import INK
from planner.report.drawing import (
    SMALL,
    THIN,
    fitted,
    line,
    text,
    text_width,
)
from planner.report.label_spots import Ring, inside

Box = tuple[float, float, float, float]  # left, top, right, bottom
_TALL = 2.9  # mm from line to line
_LONGEST = 46.0
_REACH = 60.0


@dataclass(frozen=True, slots=True)
class Mark:
    """A round mark on the drawing and what it is called; a box that no name may cover.

    ``tail`` follows the words and is never cut.
    """

    x: float
    y: float
    radius: float
    words: str = ""
    tail: str = ""

    @property
    def box(self) -> Box:
        """The square round it."""
        r = self.radius
        return self.x - r, self.y - r, self.x + r, self.y + r


def callouts(marks: Sequence[Mark], solid: Sequence[Ring], taken: Iterable[Box], bounds: Box) -> list[str]:
    """The names of those marks that have one, each with a line to its mark where it is not beside it.

    ``solid`` are outlines that names stay off while there is room, ``taken`` boxes that none may touch.
    """
    boxes = [*(mark.box for mark in marks), *taken]
    parts = []
    for mark in marks:
        words = _words(mark)
        if not words:
            continue
        spot = _spot(mark, text_width(words, SMALL), boxes, solid, bounds)
        if spot is None:
            spot = _spot(mark, text_width(words, SMALL), boxes, (), bounds)
        if spot is None:
            continue
        left, base, edge = spot
        boxes.append((left, base - _TALL + 0.5, left + text_width(words, SMALL), base + 0.5))
        away = math.hypot(edge[0] - mark.x, edge[1] - mark.y)
        if away > mark.radius + 1.2:
            share = mark.radius / away
            x, y = mark.x + share * (edge[0] - mark.x), mark.y + share * (edge[1] - mark.y)
            parts.append(line(x, y, *edge, THIN, stroke=INK))
        parts.append(text(left, base, words, SMALL, stroke="#ffffff", stroke_width=0.8, paint_order="stroke"))
    return parts


def _words(mark: Mark) -> str:
    """The name, cut where it is long, and what follows it, whole."""
    if not mark.words:
        return ""
    tail = f" {mark.tail}" if mark.tail else ""
    return fitted(mark.words, SMALL, _LONGEST - text_width(tail, SMALL)) + tail


def _spot(
    mark: Mark, long: float, boxes: Sequence[Box], solid: Sequence[Ring], bounds: Box
) -> tuple[float, float, tuple[float, float]] | None:
    """Left end and base line of a name, and the point of it that is nearest to its mark."""
    for reach in np.arange(mark.radius + 0.8, _REACH, 1.4):
        for turn in (0, 180, 15, -15, 165, 195, 30, -30, 150, 210, 50, -50, 130, 230, 75, -75, 105, 255):
            x = mark.x + reach * math.cos(math.radians(turn))
            y = mark.y + reach * math.sin(math.radians(turn))
            left = x if abs(turn) < 90 else x - long
            box = (left, y - _TALL / 2.0, left + long, y + _TALL / 2.0)
            if _within(box, bounds) and not any(_cross(box, b) for b in boxes) and _clear(box, solid):
                edge = x - 0.3 if abs(turn) < 90 else x + 0.3
                return left, y + 0.8, (edge, y)
    return None


def _within(box: Box, bounds: Box) -> bool:
    return box[0] >= bounds[0] and box[1] >= bounds[1] and box[2] <= bounds[2] and box[3] <= bounds[3]


def _cross(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _clear(box: Box, solid: Sequence[Ring]) -> bool:
    xs = np.linspace(box[0], box[2], max(3, int((box[2] - box[0]) / 1.5)))
    grid = np.array([(x, y) for x in xs for y in (box[1], (box[1] + box[3]) / 2.0, box[3])])
    return not any(inside(ring, grid).any() for ring in solid)
