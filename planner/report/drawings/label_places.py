"""Names and numbers of the pieces of a bed plan: inside where there is room, else on a leader line."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from planner.report.drawings.label_spots import Ring, Space, flat
from planner.report.layout.drawing import SMALL, TEXT, text_width

Bounds = tuple[float, float, float, float]
_NUMBER_ROOM = 1.75  # mm round the middle of a number
_CIRCLE = 2.4  # mm round the middle of a number on a leader line
_TURNS = [math.pi * (k / 12.0) - math.pi / 2 for k in range(24)]
_AROUND = np.array(
    [
        (reach * math.cos(turn), reach * math.sin(turn))
        for reach in np.arange(4.0, 40.0, 1.5)
        for turn in _TURNS
    ]
)


@dataclass(frozen=True, slots=True)
class Label:
    """Lettering centred at (x, y); ``leader`` is the point in the piece that a line leads to."""

    words: str
    x: float
    y: float
    size: float
    upright: bool = False
    leader: tuple[float, float] | None = None


def labels(rings: Mapping[str, Ring], numbers: Mapping[str, int], bounds: Bounds) -> dict[str, Label]:
    """A label for every piece, all of them readable: nothing smaller than 2.2 mm, none over another."""
    spaces = {name: Space(ring) for name, ring in rings.items()}
    made = {name: _inside(name, numbers[name], space) for name, space in spaces.items()}
    taken = [(found.x, found.y) for found in made.values() if found is not None]
    if len(taken) == len(made):
        return {name: found for name, found in made.items() if found is not None}
    ground = _Ground(rings.values(), bounds)
    labelled: dict[str, Label] = {}
    for name, space in spaces.items():
        found = made[name]
        if found is None:
            found = _outside(numbers[name], space, ground, taken)
            taken.append((found.x, found.y))
        labelled[name] = found
    return labelled


def _inside(name: str, number: int, space: Space) -> Label | None:
    """Number and name level or upright, else the number alone, else nothing."""
    words = f"{number}  {name}"
    for size in (TEXT, SMALL):
        width, height = text_width(words, size), 1.15 * size
        spot = space.box_spot(width, height)
        if spot:
            return Label(words, *spot, size)
        spot = space.box_spot(height, width)
        if spot:
            return Label(words, *spot, size, upright=True)
    x, y, room = space.roomiest
    return Label(str(number), x, y, TEXT) if room >= _NUMBER_ROOM else None


class _Ground:
    """All outlines of a drawing, and its rim: what numbers beside their pieces stay off."""

    def __init__(self, rings: Iterable[Ring], bounds: Bounds) -> None:
        from planner.report.drawings.label_kernel import boxes_about

        self._corners, self._starts = flat(rings)
        self._boxes = boxes_about(self._corners, self._starts)
        low_x, low_y, high_x, high_y = bounds
        self._low = np.array([low_x + _CIRCLE, low_y + _CIRCLE])
        self._high = np.array([high_x - _CIRCLE, high_y - _CIRCLE])

    def nearest(self, x: float, y: float, taken: Sequence[tuple[float, float]]) -> tuple[float, float] | None:
        """The nearest free place, searched in rings of 24 directions; ``None`` where there is none."""
        from planner.report.drawings.label_kernel import first_away

        places = np.array([x, y]) + _AROUND
        places = places[((self._low <= places) & (places <= self._high)).all(axis=1)]
        others = np.array(taken, dtype=np.float64).reshape(-1, 2)
        found = first_away(places, self._corners, self._starts, self._boxes, others, _CIRCLE)
        return None if found < 0 else (float(places[found, 0]), float(places[found, 1]))


def _outside(number: int, space: Space, ground: _Ground, taken: Sequence[tuple[float, float]]) -> Label:
    """The number beside its piece; over it where nothing is free."""
    x, y, _ = space.roomiest
    found = ground.nearest(x, y, taken)
    return (
        Label(str(number), x, y, SMALL) if found is None else Label(str(number), *found, TEXT, leader=(x, y))
    )
