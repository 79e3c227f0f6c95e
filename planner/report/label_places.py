"""Names and numbers of the pieces of a bed plan: inside where there is room, else on a leader line."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from planner.report.drawing import SMALL, TEXT, text_width
from planner.report.label_spots import Ring, box_spot, distance, inside, roomiest

Bounds = tuple[float, float, float, float]
_NUMBER_ROOM = 1.75  # mm round the middle of a number
_CIRCLE = 2.4  # mm round the middle of a number on a leader line


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
    made = {name: _inside(name, numbers[name], ring) for name, ring in rings.items()}
    taken = [(found.x, found.y) for found in made.values() if found is not None]
    labelled: dict[str, Label] = {}
    for name, ring in rings.items():
        found = made[name]
        if found is None:
            found = _outside(numbers[name], ring, rings, taken, bounds)
            taken.append((found.x, found.y))
        labelled[name] = found
    return labelled


def _inside(name: str, number: int, ring: Ring) -> Label | None:
    """Number and name level or upright, else the number alone, else nothing."""
    words = f"{number}  {name}"
    for size in (TEXT, SMALL):
        width, height = text_width(words, size), 1.15 * size
        spot = box_spot(ring, width, height)
        if spot:
            return Label(words, *spot, size)
        spot = box_spot(ring, height, width)
        if spot:
            return Label(words, *spot, size, upright=True)
    x, y, room = roomiest(ring)
    return Label(str(number), x, y, TEXT) if room >= _NUMBER_ROOM else None


def _outside(
    number: int, ring: Ring, rings: Mapping[str, Ring], taken: list[tuple[float, float]], bounds: Bounds
) -> Label:
    """The nearest free place round the piece, searched in rings of 24 directions."""
    x, y, _ = roomiest(ring)
    for reach in np.arange(4.0, 40.0, 1.5):
        for k in range(24):
            angle = math.pi * (k / 12.0) - math.pi / 2
            u, v = x + reach * math.cos(angle), y + reach * math.sin(angle)
            if _free(u, v, rings, taken, bounds):
                return Label(str(number), u, v, TEXT, leader=(x, y))
    return Label(str(number), x, y, SMALL)


def _free(
    u: float, v: float, rings: Mapping[str, Ring], taken: list[tuple[float, float]], bounds: Bounds
) -> bool:
    low_x, low_y, high_x, high_y = bounds
    if not (low_x + _CIRCLE <= u <= high_x - _CIRCLE and low_y + _CIRCLE <= v <= high_y - _CIRCLE):
        return False
    if any(math.hypot(u - a, v - b) < 2 * _CIRCLE for a, b in taken):
        return False
    point = np.array([[u, v]])
    return not any(inside(ring, point)[0] or distance(ring, point)[0] < _CIRCLE for ring in rings.values())
