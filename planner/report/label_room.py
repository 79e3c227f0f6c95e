"""Whether lettering has room: boxes, lines and outlines that it must not touch."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from planner.report.label_spots import Ring, inside

Box = tuple[float, float, float, float]  # left, top, right, bottom
Point = tuple[float, float]
Segment = tuple[Point, Point]


@dataclass(slots=True)
class Sheetroom:
    """What is drawn already; names and their lines are added as they find their places.

    ``openings`` are holes that no name may cover.
    """

    bounds: Box
    taken: list[Box]
    openings: Sequence[Ring] = ()
    names: list[Box] = field(default_factory=list)
    leaders: list[Segment] = field(default_factory=list)

    def free(self, box: Box, leader: Segment | None, mark: Point) -> bool:
        """Whether a name and the line to its mark touch neither one another's names nor lines."""
        low_x, low_y, high_x, high_y = self.bounds
        if not (box[0] >= low_x and box[1] >= low_y and box[2] <= high_x and box[3] <= high_y):
            return False
        if any(crossed(box, other) for other in (*self.taken, *self.names)):
            return False
        if any(cut(box, line) for line in self.leaders):
            return False
        if leader is not None:
            about = [b for b in self.taken if not (b[0] <= mark[0] <= b[2] and b[1] <= mark[1] <= b[3])]
            if any(cut(b, leader) for b in self.names) or any(met(leader, line) for line in self.leaders):
                return False
            if any(cut(b, leader) for b in about if b[2] - b[0] > b[3] - b[1] + 0.01):
                return False  # lettering of the frame; round marks may be passed
        return clear(box, self.openings)


def crossed(a: Box, b: Box) -> bool:
    """Whether two boxes share more than a rim."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def cut(box: Box, segment: Segment) -> bool:
    """Whether a line touches a box (Source: geometry, clipping of a line by Liang and Barsky 1984)."""
    (x, y), (u, v) = segment
    first, last = 0.0, 1.0
    for step, low, high in ((u - x, box[0] - x, box[2] - x), (v - y, box[1] - y, box[3] - y)):
        if abs(step) < 1e-12:
            if low > 0.0 or high < 0.0:
                return False
            continue
        near, far = sorted((low / step, high / step))
        first, last = max(first, near), min(last, far)
    return first <= last


def met(a: Segment, b: Segment) -> bool:
    """Whether two lines cross."""

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(*a, b[0]) * side(*a, b[1]) < 0.0 and side(*b, a[0]) * side(*b, a[1]) < 0.0


def clear(box: Box, rings: Iterable[Ring]) -> bool:
    """Whether a box stays off the area of all rings."""
    near = [ring for ring in rings if _near(box, ring)]
    if not near:
        return True
    xs = np.linspace(box[0], box[2], max(3, int((box[2] - box[0]) / 1.5)))
    grid = np.array([(x, y) for x in xs for y in (box[1], (box[1] + box[3]) / 2.0, box[3])])
    return not any(_sides_cut(box, ring) or inside(ring, grid).any() for ring in near)


def _near(box: Box, ring: Ring) -> bool:
    xs, ys = zip(*ring, strict=True)
    return crossed(box, (min(xs), min(ys), max(xs), max(ys)))


def _sides_cut(box: Box, ring: Ring) -> bool:
    return any(cut(box, (p, q)) for p, q in zip(ring, [*ring[1:], ring[0]], strict=True))
