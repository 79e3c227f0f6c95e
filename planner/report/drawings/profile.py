"""Small drawings of a part: its outline, and how section area and seconds change over its height."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from planner.model.printer import Outline
from planner.report.layout.colours import GREY, INK, RULE
from planner.report.layout.drawing import (
    THIN,
    line,
    path,
    picture,
    text,
)
from planner.report.layout.legend import Style

_POINTS = 90


def outline_picture(outline: Outline, style: Style, width: float, height: float) -> str:
    """The footprint, as large as the field allows, in the tint of its section."""
    if len(outline) < 3:
        return ""
    xs, ys = zip(*outline, strict=True)
    size_x, size_y = max(max(xs) - min(xs), 1e-6), max(max(ys) - min(ys), 1e-6)
    scale = min((width - 1.0) / size_x, (height - 1.0) / size_y)
    left, top = (width - scale * size_x) / 2, (height - scale * size_y) / 2
    low_x, high_y = min(xs), max(ys)
    ring = [(left + scale * (x - low_x), top + scale * (high_y - y)) for x, y in outline]
    drawn = path([ring], fill=style.colour, fill_opacity="0.22", stroke=INK, stroke_width=0.2)
    return picture(width, height, [drawn], "outline from above")


def profile_picture(
    heights: NDArray[np.float64],
    values: NDArray[np.float64],
    width: float,
    height: float,
    most: str,
    label: str,
) -> str:
    """Values over the height of the part, from the bed at the left to its top at the right."""
    if len(values) == 0 or not float(values.max()) > 0.0:
        return ""
    places, tops = _thinned(heights, values)
    low = height - 2.4
    room = low - 2.6
    peak, top = float(values.max()), float(heights[-1])
    points = [
        (0.5 + (width - 1.0) * z / top, low - room * v / peak) for z, v in zip(places, tops, strict=True)
    ]
    points.insert(0, (0.5, points[0][1]))
    field = [(points[0][0], low), *points, (points[-1][0], low)]
    return picture(
        width,
        height,
        [
            path([field], fill="#e4e7eb"),
            path([points], closed=False, stroke=INK, stroke_width=0.2, stroke_linejoin="round"),
            line(0.5, low, width - 0.5, low, THIN, stroke=RULE),
            text(width - 0.5, 2.0, most, 1.9, "end", fill=GREY),
        ],
        label,
    )


def _thinned(
    heights: NDArray[np.float64], values: NDArray[np.float64]
) -> tuple[Sequence[float], Sequence[float]]:
    """At most 90 points; each stands for the largest value of its share of the layers."""
    if len(values) <= _POINTS:
        return heights.tolist(), values.tolist()
    edges = np.linspace(0, len(values), _POINTS + 1).astype(int)
    return heights[edges[1:] - 1].tolist(), np.maximum.reduceat(values, edges[:-1]).tolist()
