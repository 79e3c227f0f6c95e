"""NACA four-digit sections as closed rings of points."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Ring = NDArray[np.float64]


def naca4(digits: str, per_side: int = 60, trailing_edge: float | None = None) -> Ring:
    """The section at chord 1, anticlockwise: trailing edge, upper side, nose, lower side, trailing edge.

    Parameters
    ----------
    digits : four digits: camber in per cent, its place in tenths, thickness in per cent
    per_side : points on each side; cosine spacing
    trailing_edge : least thickness at the trailing edge as a share of the chord, reached by a wedge
        that grows from the nose; ``None`` keeps the open edge of the formula

    Returns
    -------
    (2 * per_side, 2) points, chord 1

    Source: Ladson, Brooks, Hill, Sproles, NASA TM 4741 (1996): thickness and camber polynomials.
    """
    camber, place, thick = int(digits[0]) / 100.0, int(digits[1]) / 10.0, int(digits[2:]) / 100.0
    x = 0.5 * (1.0 - np.cos(np.linspace(0.0, np.pi, per_side + 1)))
    half = 5.0 * thick * (0.2969 * np.sqrt(x) - 0.1260 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4)
    if trailing_edge is not None:
        half = half + x * max(0.0, trailing_edge / 2.0 - float(half[-1]))
    line = np.zeros_like(x)
    slope = np.zeros_like(x)
    if camber > 0.0:
        ahead = x < place
        scale = np.where(ahead, camber / place**2, camber / (1.0 - place) ** 2)
        line = scale * np.where(ahead, 2 * place * x - x**2, (1 - 2 * place) + 2 * place * x - x**2)
        slope = scale * 2.0 * (place - x)
    angle = np.arctan(slope)
    upper = np.column_stack([x - half * np.sin(angle), line + half * np.cos(angle)])
    lower = np.column_stack([x + half * np.sin(angle), line - half * np.cos(angle)])
    return np.concatenate([upper[:0:-1], lower])  # the nose point is shared


def placed(ring: Ring, chord: float, lead: float, twist_deg: float = 0.0) -> Ring:
    """The section at its chord, nose at x = ``lead``, turned nose-down about the quarter chord."""
    angle = np.radians(twist_deg)
    quarter = np.array([0.25, 0.0])
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    turned: Ring = ((ring - quarter) @ turn.T + quarter) * chord + np.array([lead, 0.0])
    return turned


def super_ellipse(half_x: float, half_y: float, power: float, count: int = 96) -> Ring:
    """|x/a|^p + |y/b|^p = 1, anticlockwise; power 2 is the ellipse (Source: G. Lame's curve)."""
    angle = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)
    cos, sin = np.cos(angle), np.sin(angle)
    return np.column_stack(
        [
            half_x * np.sign(cos) * np.abs(cos) ** (2.0 / power),
            half_y * np.sign(sin) * np.abs(sin) ** (2.0 / power),
        ]
    )
