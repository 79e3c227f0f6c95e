"""Names beside their marks: none over another, none over a drawn outline while there is room elsewhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from planner.report.drawings.label_spots import Floats, Ring, flat
from planner.report.layout.colours import INK
from planner.report.layout.drawing import (
    SMALL,
    THIN,
    fitted,
    line,
    text,
    text_width,
)

_RISE, _FALL = 2.25, 0.65  # mm above and below the line on which a name stands
_LONGEST, _SHORT = 46.0, 28.0  # mm of a name with its tail; where there is little room
_TURNS = (0, 180, 15, -15, 165, 195, 30, -30, 150, 210, 50, -50, 130, 230, 75, -75, 105, 255)
_FINE = tuple(range(0, 360, 6))  # where these do not find room
_REACH = 60.0
_BESIDE = 1.2  # mm from the rim of a mark to a name that needs no line

Box = tuple[float, float, float, float]  # left, top, right, bottom
Segment = tuple[tuple[float, float], tuple[float, float]]


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


def callouts(
    marks: Sequence[Mark],
    solid: Sequence[Ring],
    taken: Iterable[Box],
    bounds: Box,
    openings: Sequence[Ring] = (),
) -> list[str]:
    """The names of those marks that have one, each with a line to its mark where it is not beside it.

    ``solid`` are outlines that names stay off while there is room; ``taken`` boxes and ``openings``
    none may touch. A name that has no room is cut shorter, then left out: the table has them all.
    """
    room = _Room(bounds, [*(mark.box for mark in marks), *taken])
    grounds = _Ground([*openings, *solid]), _Ground(openings)
    parts: list[str] = []
    for mark in marks:
        for longest, ground, turns in product((_LONGEST, _SHORT), grounds, (_TURNS, _FINE)):
            words = _words(mark, longest)
            spot = room.spot(mark, text_width(words, SMALL), ground, turns) if words else None
            if spot is not None:
                parts += _drawn(words, *spot)
                break
    return parts


def _drawn(words: str, left: float, base: float, leader: Segment | None) -> list[str]:
    halo = text(left, base, words, SMALL, stroke="#ffffff", stroke_width=0.8, paint_order="stroke")
    if leader is None:
        return [halo]
    (x, y), edge = leader
    return [line(x, y, *edge, THIN, stroke=INK), halo]


def _words(mark: Mark, longest: float) -> str:
    """The name, cut where it is long, and what follows it, whole."""
    if not mark.words:
        return ""
    tail = f" {mark.tail}" if mark.tail else ""
    return fitted(mark.words, SMALL, longest - text_width(tail, SMALL)) + tail


class _Ground:
    """Outlines that a name stays off."""

    def __init__(self, rings: Sequence[Ring]) -> None:
        from planner.report.drawings.label_kernel import boxes_about

        corners, starts = flat(rings)
        self.arrays = corners, starts, boxes_about(corners, starts)


class _Room:
    """What is drawn already; names and their lines are added as they find their places."""

    def __init__(self, bounds: Box, taken: Sequence[Box]) -> None:
        self._bounds = np.array(bounds, dtype=np.float64)
        self._taken = _rows(taken)
        self._names: list[Box] = []
        self._leaders: list[tuple[float, float, float, float]] = []

    def spot(
        self, mark: Mark, long: float, ground: _Ground, turns: Sequence[int]
    ) -> tuple[float, float, Segment | None] | None:
        """Left end and base line of a name, and the line from its mark to the point of it that is nearest."""
        from planner.report.drawings.callout_kernel import first_free

        places = _places(mark, long, turns)
        names, leaders, middle = _rows(self._names), _rows(self._leaders), np.array([mark.x, mark.y])
        drawn = self._bounds, self._taken, names, leaders
        found = first_free(places.boxes, places.lines, middle, *drawn, *ground.arrays)
        if found < 0:
            return None
        left, top, right, bottom = places.boxes[found].tolist()
        leader = _leader(mark, places.edge(found))
        self._names.append((left, top, right, bottom))
        if leader is not None:
            self._leaders.append((*leader[0], *leader[1]))
        return left, float(places.base[found]), leader


@dataclass(frozen=True, slots=True)
class _Places:
    """Where a name may stand, nearest first: its boxes and the lines to its mark, (k, 4), as arrays."""

    boxes: Floats
    lines: Floats
    base: Floats
    edges: Floats

    def edge(self, number: int) -> tuple[float, float]:
        """The point of a name that a line leads to."""
        x, y = self.edges[number].tolist()
        return x, y


def _places(mark: Mark, long: float, turns: Sequence[int]) -> _Places:
    reaches = np.arange(mark.radius + 0.8, _REACH, 1.4)[:, None]
    across = np.array([math.cos(math.radians(turn)) for turn in turns])
    along = np.array([math.sin(math.radians(turn)) for turn in turns])
    x, y = (mark.x + reaches * across).ravel(), (mark.y + reaches * along).ravel()
    right = np.tile(across > 0.0, len(reaches))
    left, base = np.where(right, x, x - long), y + 0.8
    edges = np.stack([np.where(right, x - 0.3, x + 0.3), y], axis=1)
    boxes = np.stack([left, base - _RISE, left + long, base + _FALL], axis=1)
    middle = np.array([mark.x, mark.y])
    away = np.hypot(*(edges - middle).T)[:, None]
    rims = middle + mark.radius / np.maximum(away, 1e-12) * (edges - middle)
    lines = np.where(away <= mark.radius + _BESIDE, np.nan, np.concatenate([rims, edges], axis=1))
    return _Places(boxes, lines, base, edges)


def _rows(told: Iterable[Sequence[float]]) -> Floats:
    return np.array([*told], dtype=np.float64).reshape(-1, 4)


def _leader(mark: Mark, edge: tuple[float, float]) -> Segment | None:
    """The line from the rim of a mark to its name; none where the name stands beside it."""
    away = math.hypot(edge[0] - mark.x, edge[1] - mark.y)
    if away <= mark.radius + _BESIDE:
        return None
    share = mark.radius / away
    return (mark.x + share * (edge[0] - mark.x), mark.y + share * (edge[1] - mark.y)), edge
