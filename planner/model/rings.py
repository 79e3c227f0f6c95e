"""Rings of points as they are written in a file: one encloses an area, and does not cross itself."""

from __future__ import annotations

from collections.abc import Sequence

from planner.errors import RecordError

Point = tuple[float, float]
MOST_POINTS = 500
LEAST_MM2 = 1e-3


def simple_ring(ring: Sequence[Point], key: str) -> None:
    """Refuse a ring that crosses itself, encloses nothing, or has too many points.

    Raises
    ------
    RecordError
        naming the key, and the sides that meet
    """
    if len(ring) > MOST_POINTS:
        raise RecordError(f"{key} has {len(ring)} points; the limit is {MOST_POINTS}.")
    points = [point for n, point in enumerate(ring) if point != ring[n - 1]]
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
    if abs(twice) / 2.0 < LEAST_MM2:
        raise RecordError(f"{key} encloses no area.", next_step="Write its corners one after another.")
    sides = [(points[n - 1], point) for n, point in enumerate(points)]
    for n, one in enumerate(sides):
        for m in range(n + 2, len(sides) - (1 if n == 0 else 0)):
            if _cross(*one, *sides[m]):
                raise RecordError(
                    f"{key} crosses itself between {_told(one[0])} and {_told(one[1])}.",
                    next_step="Write its corners one after another, around the area.",
                )


def _told(point: Point) -> str:
    return f"({point[0]:g}, {point[1]:g})"


def _side(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two sides cross in their insides; touching is allowed."""
    return _side(a, b, c) * _side(a, b, d) < 0.0 and _side(c, d, a) * _side(c, d, b) < 0.0
