"""Names beside their marks: none over another, none over a drawn outline while there is room elsewhere."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

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
from planner.report.label_room import Box, Segment, Sheetroom, clear
from planner.report.label_spots import Ring

_RISE, _FALL = 2.25, 0.65  # mm above and below the line on which a name stands
_LONGEST, _SHORT = 46.0, 28.0  # mm of a name with its tail; where there is little room
_TURNS = (0, 180, 15, -15, 165, 195, 30, -30, 150, 210, 50, -50, 130, 230, 75, -75, 105, 255)
_FINE = tuple(range(0, 360, 6))  # where these do not find room
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
    room = Sheetroom(bounds, [*(mark.box for mark in marks), *taken], openings)
    parts: list[str] = []
    for mark in marks:
        for longest, outlines, turns in product((_LONGEST, _SHORT), (solid, ()), (_TURNS, _FINE)):
            words = _words(mark, longest)
            spot = _spot(mark, text_width(words, SMALL), room, outlines, turns) if words else None
            if spot is not None:
                parts += _drawn(words, *spot, room)
                break
    return parts


def _drawn(words: str, left: float, base: float, leader: Segment | None, room: Sheetroom) -> list[str]:
    room.names.append((left, base - _RISE, left + text_width(words, SMALL), base + _FALL))
    halo = text(left, base, words, SMALL, stroke="#ffffff", stroke_width=0.8, paint_order="stroke")
    if leader is None:
        return [halo]
    room.leaders.append(leader)
    (x, y), edge = leader
    return [line(x, y, *edge, THIN, stroke=INK), halo]


def _words(mark: Mark, longest: float) -> str:
    """The name, cut where it is long, and what follows it, whole."""
    if not mark.words:
        return ""
    tail = f" {mark.tail}" if mark.tail else ""
    return fitted(mark.words, SMALL, longest - text_width(tail, SMALL)) + tail


def _spot(
    mark: Mark, long: float, room: Sheetroom, outlines: Sequence[Ring], turns: Sequence[int]
) -> tuple[float, float, Segment | None] | None:
    """Left end and base line of a name, and the line from its mark to the point of it that is nearest."""
    for reach in np.arange(mark.radius + 0.8, _REACH, 1.4):
        for turn in turns:
            x = mark.x + reach * math.cos(math.radians(turn))
            y = mark.y + reach * math.sin(math.radians(turn))
            right = math.cos(math.radians(turn)) > 0.0
            left = x if right else x - long
            base = y + 0.8
            box = (left, base - _RISE, left + long, base + _FALL)
            leader = _leader(mark, (x - 0.3 if right else x + 0.3, y))
            if room.free(box, leader, (mark.x, mark.y)) and clear(box, outlines):
                return left, base, leader
    return None


def _leader(mark: Mark, edge: tuple[float, float]) -> Segment | None:
    """The line from the rim of a mark to its name; none where the name stands beside it."""
    away = math.hypot(edge[0] - mark.x, edge[1] - mark.y)
    if away <= mark.radius + 1.2:
        return None
    share = mark.radius / away
    return (mark.x + share * (edge[0] - mark.x), mark.y + share * (edge[1] - mark.y)), edge
