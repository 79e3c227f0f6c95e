"""How much of two bodies lies face to face."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar import polygon

Floats = NDArray[np.float64]

GAP_MM = 0.3  # faces that are further apart do not touch
LEAST_MM2 = 4.0  # smaller faces are chance
_ALIKE, _OPPOSITE = np.cos(np.radians([1.5, 3.0]))
_FLAT_MM = 0.1  # a face is as flat as that
_MOST_FACES = 60


@dataclass(frozen=True, slots=True)
class Touch:
    """One plane face of a body that another touches: its area, its middle, and the way it looks."""

    area_mm2: float
    middle: tuple[float, float, float]
    outward: tuple[float, float, float]


def touches(first: Floats, second: Floats) -> list[Touch]:
    """The plane faces of the first (m, 3, 3) facets that the second ones touch, largest first.

    Faces look at each other within 3 degrees and lie within ``GAP_MM``; the area is the one that
    both cover, seen along the first one's normal (Source: geometry). Curved faces, such as a tube
    in its socket, are not found.
    """
    boxes = [_boxes(triangles) for triangles in (first, second)]
    low = np.maximum(*(lows.min(axis=0) for lows, _ in boxes)) - GAP_MM
    high = np.minimum(*(highs.max(axis=0) for _, highs in boxes)) + GAP_MM
    if (low > high).any():
        return []
    near, other = (
        t[((lows <= high) & (highs >= low)).all(axis=1)]
        for t, (lows, highs) in zip((first, second), boxes, strict=True)
    )
    if len(near) == 0 or len(other) == 0:
        return []
    _, facing = _normals(other)
    found = []
    for normal, level, own in _faces(near):
        away = other @ normal - level
        against = (facing @ normal < -_OPPOSITE) & (np.abs(away) <= GAP_MM).all(axis=1)
        if not against.any():
            continue
        axes = _axes(normal)
        area, middle = polygon.shared(own @ axes.T, other[against] @ axes.T)
        if area >= LEAST_MM2:
            spot = middle @ axes + level * normal
            found.append(Touch(area, tuple(spot.tolist()), tuple(normal.tolist())))
    return sorted(found, key=lambda touch: -touch.area_mm2)


def _boxes(triangles: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest corner of the box of every facet, (m, 3) each."""
    a, b, c = (triangles[:, k] for k in range(3))
    return np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)


def _normals(triangles: Floats) -> tuple[Floats, Floats]:
    """Twice the areas, and unit normals (zero where there is no area)."""
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    double = np.linalg.norm(normal, axis=1)
    return double, normal / np.maximum(double, 1e-300)[:, None]


def _faces(triangles: Floats) -> Iterator[tuple[Floats, float, Floats]]:
    """Facets that lie in one plane, by the plane's normal and level; largest facets lead."""
    double, normals = _normals(triangles)
    left = double > 0.0
    for _ in range(_MOST_FACES):
        if not left.any():
            return
        lead = int(np.argmax(np.where(left, double, -1.0)))
        normal = normals[lead]
        level = float(triangles[lead, 0] @ normal)
        flat = (np.abs(triangles @ normal - level) <= _FLAT_MM).all(axis=1)
        own = left & flat & (normals @ normal > _ALIKE)
        left &= ~own
        left[lead] = False
        if double[own].sum() >= 2.0 * LEAST_MM2:
            yield normal, level, triangles[own]


def _axes(normal: Floats) -> Floats:
    """Two unit vectors across a normal, (2, 3)."""
    first = np.cross(normal, np.eye(3)[int(np.argmin(np.abs(normal)))])
    first /= np.linalg.norm(first)
    return np.stack([first, np.cross(normal, first)])
