"""One end of a body along an axis: its plane faces, and its sections near them."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar import polygon

Floats = NDArray[np.float64]

LEAST_MM2 = 4.0  # smaller faces are chance
LONGEST = 0.5  # of the body's length: what stands further beyond a face is no pin
_ALIKE = np.cos(np.radians(1.5))
_FLAT_MM = 0.1  # a face is as flat as that
_BELOW_MM = 0.05  # a body's section is taken this far behind its face
_MOST_FACES = 10
_LEAST_SHARE = 0.5  # of the largest outline: a smaller face is no end of the body


@dataclass(frozen=True, eq=False)
class EndFace:
    """A plane face that looks out of an end.

    ``reach`` is how far the body goes on beyond it, mm; ``facets`` (k, 3, 2) cover it, ``outline``
    encloses the body's section just behind it, openings filled.
    """

    reach: float
    facets: Floats
    outline: polygon.Region

    @cached_property
    def face(self) -> polygon.Region:
        """The region of the face."""
        return polygon.of_triangles(self.facets)

    @cached_property
    def area(self) -> float:
        """Area of the face, mm2."""
        a, b, c = (self.facets[:, k] for k in range(3))
        (ux, uy), (vx, vy) = (b - a).T, (c - a).T
        return float(0.5 * np.abs(ux * vy - uy * vx).sum())


@dataclass(frozen=True, eq=False)
class End:
    """The upper end of closed (m, 3, 3) facets, seen along z."""

    triangles: Floats
    _cut: dict[float, polygon.Region] = field(default_factory=dict, repr=False)

    @property
    def length(self) -> float:
        """Length of the body along z, mm."""
        return float(np.ptp(self.triangles[:, :, 2]))

    def section(self, down: float) -> polygon.Region:
        """The body's section this far below its highest point."""
        if down not in self._cut:
            self._cut[down] = _section(self.triangles, float(self.triangles[:, :, 2].max()) - down)
        return self._cut[down]

    def faces(self) -> list[EndFace]:
        """The plane faces that may be the end of the body, the furthest out first."""
        top = float(self.triangles[:, :, 2].max())
        found = []
        for down, own in _level(self.triangles, top, LONGEST * self.length):
            outline = polygon.without_holes(self.section(down + _BELOW_MM))
            found.append(EndFace(down, own[:, :, :2], outline))
        most = max((each.outline.area for each in found), default=0.0)
        whole = [each for each in found if each.outline.area >= max(_LEAST_SHARE * most, LEAST_MM2)]
        return sorted(whole, key=lambda each: each.reach)


def lower_end(triangles: Floats) -> Floats:
    """Facets seen the other way round: the lower end becomes the upper one, x and y stay."""
    other: Floats = triangles * np.array([1.0, 1.0, -1.0])
    return other[:, ::-1]


def _level(triangles: Floats, top: float, within: float) -> list[tuple[float, Floats]]:
    """Facets that look up, gathered by height: how far below the top, and which; the largest first."""
    high, low = triangles[:, :, 2].max(axis=1), triangles[:, :, 2].min(axis=1)
    near = triangles[(high >= top - within) & (high - low <= _FLAT_MM)]
    normal = np.cross(near[:, 1] - near[:, 0], near[:, 2] - near[:, 0])
    double = np.linalg.norm(normal, axis=1)
    up = (double > 0.0) & (normal[:, 2] > _ALIKE * double)
    near, double = near[up], double[up]
    if len(near) == 0:
        return []
    heights = near[:, :, 2].mean(axis=1)
    order = np.argsort(-heights, kind="stable")
    groups = np.split(order, np.flatnonzero(-np.diff(heights[order]) > _FLAT_MM) + 1)
    large = [own for own in groups if double[own].sum() >= 2.0 * LEAST_MM2]
    large.sort(key=lambda own: -float(double[own].sum()))
    return [
        (top - float(np.average(heights[own], weights=double[own])), near[own]) for own in large[:_MOST_FACES]
    ]


def _section(triangles: Floats, level: float) -> polygon.Region:
    """The region that closed facets enclose at a height (Source: geometry)."""
    above = triangles[:, :, 2] > level
    cut = triangles[above.any(axis=1) & ~above.all(axis=1)]
    normal = np.cross(cut[:, 1] - cut[:, 0], cut[:, 2] - cut[:, 0])
    above = cut[:, :, 2] > level
    # the corner that is alone on its side of the plane: both cut edges leave from it
    alone = np.where(above.sum(axis=1) == 1, np.argmax(above, axis=1), np.argmin(above, axis=1))
    rows = np.arange(len(cut))
    ends = [_crossing(cut[rows, alone], cut[rows, (alone + k) % 3], level) for k in (1, 2)]
    sides = np.stack(ends, axis=1)
    way = sides[:, 1] - sides[:, 0]
    back = way[:, 1] * normal[:, 0] - way[:, 0] * normal[:, 1] < 0.0
    sides[back] = sides[back][:, ::-1]
    return polygon.of_sides(sides[(sides[:, 0] != sides[:, 1]).any(axis=1)])


def _crossing(first: Floats, second: Floats, level: float) -> Floats:
    """Where edges cross a height, (m, 2); the same to the bit from both facets of an edge."""
    swap = first[:, 2] > second[:, 2]
    low, high = np.where(swap[:, None], second, first), np.where(swap[:, None], first, second)
    share = (level - low[:, 2]) / (high[:, 2] - low[:, 2])
    at: Floats = low[:, :2] + share[:, None] * (high[:, :2] - low[:, :2])
    return at
