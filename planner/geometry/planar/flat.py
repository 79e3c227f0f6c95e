"""Points of the plane turned, shifted and mirrored."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
Ring = tuple[tuple[float, float], ...]


def turned(points: Points, turn_deg: float) -> Points:
    """Points (n, 2) turned counter-clockwise about the origin; quarter turns are exact."""
    quarter, rest = divmod(turn_deg, 90.0)
    if rest == 0.0:
        cos, sin = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter) % 4]
    else:
        cos, sin = float(np.cos(np.radians(turn_deg))), float(np.sin(np.radians(turn_deg)))
    result: Points = points @ np.array([[cos, sin], [-sin, cos]])
    return result


def turned_point(x: float, y: float, turn_deg: float) -> tuple[float, float]:
    """One point turned counter-clockwise about the origin; quarter turns are exact."""
    quarter, rest = divmod(turn_deg, 90.0)
    if rest == 0.0:
        return ((x, y), (-y, x), (-x, -y), (y, -x))[int(quarter) % 4]
    angle = math.radians(turn_deg)
    cos, sin = math.cos(angle), math.sin(angle)
    return cos * x - sin * y, sin * x + cos * y


def shifted(outline: Ring, low: tuple[float, float]) -> Ring:
    """A shadow moved so that its lowest corner is the origin."""
    return tuple((x - low[0], y - low[1]) for x, y in outline)


def mirror(outline: Ring, width: float) -> Ring:
    """The shadow of the other hand, in the same bounding box and still counter-clockwise."""
    return tuple((width - x, y) for x, y in reversed(outline))
