"""The boxes that stand for pieces in the instant answer."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from planner.geometry.planar.flat import turned
from planner.model.printer import Outline
from planner.nesting.problem.item import Item
from planner.nesting.problem.placement import Points, box_of, box_size

_WORTH_TURNING = 0.97  # a slanted box must save 3 % of area before the piece is set slanting


@dataclass(frozen=True, slots=True)
class Box:
    """A piece as one or two boxes: (width, depth) at each turn that it may take.

    Boxes grown by their ``reach_mm`` must not overlap.
    """

    item: Item
    turns: tuple[float, ...]
    sizes: tuple[tuple[float, float], ...]
    reach_mm: float

    @property
    def area_mm2(self) -> float:
        """Area of the first box."""
        return self.sizes[0][0] * self.sizes[0][1]


def boxed(item: Item, reach_mm: float) -> Box:
    """The tightest box of a piece, and the same a quarter turn on, where its turns allow it."""
    chosen, sizes = _tightest(item.outline, item.turns)
    return Box(item, chosen, sizes, reach_mm)


@lru_cache(maxsize=1024)  # the search asks for the same few outlines again and again
def _tightest(
    outline: Outline, turns: tuple[float, ...] | None
) -> tuple[tuple[float, ...], tuple[tuple[float, float], ...]]:
    item, ring = Item("", outline, (), 1.0, turns, "", ""), np.asarray(outline, dtype=np.float64)
    if turns is None:
        slanted = slanted_turns(item)
        best = min(slanted, key=lambda turn: (_area(ring, turn), turn))
        first = best if _area(ring, best) < _WORTH_TURNING * _area(ring, 0.0) else 0.0
        chosen: tuple[float, ...] = (first, first + 90.0)
    else:
        first = min(turns, key=lambda turn: (round(_area(ring, turn), 6), turn))
        across = [t for t in turns if abs((t - first) % 180.0 - 90.0) < 1e-9]
        chosen = (first, *across[:1])
    return chosen, tuple(box_size(item, turn) for turn in chosen)


def slanted_turns(item: Item) -> list[float]:
    """Turns that lay an edge of the outline along x: the tightest box has such an edge.

    Source: H. Freeman and R. Shapira, "Determining the minimum-area encrusting rectangle for an
    arbitrary closed curve", Communications of the ACM 18 (1975), 409-413.
    """
    ring = np.asarray(item.outline, dtype=np.float64)
    step = np.roll(ring, -1, axis=0) - ring
    angles = np.degrees(np.arctan2(step[:, 1], step[:, 0]))
    return sorted({0.0, *(round(float(-a) % 90.0, 9) for a in angles)})


def _area(ring: Points, turn_deg: float) -> float:
    width, depth = box_of(ring, turn_deg)
    return width * depth


def size_at(item: Item, turns: np.ndarray) -> np.ndarray:
    """Width and depth (n, 2) of the boxes at many turns in degrees."""
    ring = np.asarray(item.outline, dtype=np.float64)
    return np.array([np.ptp(turned(ring, float(t)), axis=0) for t in turns])
