"""Items and beds that the tests of this room share."""

from __future__ import annotations

import math

from planner.model.printer import Bed, Outline
from planner.nesting.problem.item import BedKind, Item


def item(
    piece: str,
    outline: Outline,
    *,
    holes: tuple[Outline, ...] = (),
    height: float = 20.0,
    turns: tuple[float, ...] | None = None,
) -> Item:
    low = min(p[0] for p in outline), min(p[1] for p in outline)

    def moved(ring: Outline) -> Outline:
        return tuple((x - low[0], y - low[1]) for x, y in ring)

    key = str(hash((outline, holes, height, turns)))
    return Item(piece, moved(outline), tuple(moved(h) for h in holes), height, turns, "wing", key)


def rectangle(w: float, d: float, x: float = 0.0, y: float = 0.0) -> Outline:
    return ((x, y), (x + w, y), (x + w, y + d), (x, y + d))


def ellipse(w: float, d: float, n: int = 48, x: float = 0.0, y: float = 0.0) -> Outline:
    """An ellipse about (x, y)."""
    angles = [2.0 * math.pi * k / n for k in range(n)]
    return tuple((x + w / 2 * math.cos(a), y + d / 2 * math.sin(a)) for a in angles)


def square_bed(
    width: float = 220.0, *, margin: float = 4.0, count: int | None = None, **more: object
) -> BedKind:
    return BedKind("square", Bed("rectangle", width, width, margin_mm=margin, **more), 200.0, count)  # type: ignore[arg-type]


def round_bed(width: float = 300.0, *, margin: float = 4.0) -> BedKind:
    return BedKind("round", Bed("round", width, width, margin_mm=margin), 200.0)
