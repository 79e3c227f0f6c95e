"""Seconds of areas that are covered by parallel lines."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Column = NDArray[np.float64]

STRIP_BEADS = 4.0  # solid areas narrower than so many beads are filled along their edge
PAIR = 1.2  # beads across a strip from which two thinner ones fill it (common practice, no source)


def line_seconds(
    area_mm2: Column,
    chord_mm: Column,
    spacing_mm: float,
    bead_mm: float,
    speed: Column,
    acceleration: Column | float,
    deviation_mm: float,
    step_mm: Column | float = 0.0,
    strokes: Column | float = 1.0,
    cosine: Column | float = 0.0,
) -> Column:
    """Seconds to cover areas with parallel lines to and fro.

    area / spacing is the length of line, and that over the mean chord the number of lines. A line
    runs from corner to corner and then steps over to the next, along the edge. Where lines touch
    (spacing = bead) the steps are beads too and are part of that length; wider apart they come on top.

    Parameters
    ----------
    step_mm : (n,) length of all steps together, where lines do not touch
    strokes : (n,) paths that begin and end at rest
    cosine : (n,) of the angle between lines and edge: a line that comes to the edge turns by that angle
        where it goes on ahead, by 180 degrees less that where it turns back, one line and the next in turn

    Source: geometry; ramps and corners as for `planner.estimate.time.motion.path_seconds`.
    """
    from planner.estimate.time import motion_kernel

    if not np.isfinite(spacing_mm):
        return np.zeros(len(area_mm2))
    like = np.zeros(len(area_mm2))
    seconds: Column = motion_kernel.line_seconds(
        area_mm2,
        chord_mm,
        speed,
        like + step_mm,
        like + strokes,
        like + cosine,
        spacing_mm,
        bead_mm,
        like + acceleration,
        deviation_mm,
    )
    return seconds


def strip_seconds(
    area_mm2: Column,
    chord_mm: Column,
    bead_mm: float,
    speed: Column,
    acceleration: Column | float,
    whole: bool = False,
) -> Column:
    """Seconds to fill narrow areas by touching rings along their edge.

    area / bead is their length; as many of them lie side by side as beads fit across the mean width,
    2 chord / pi, and each of them has one ramp (Source: geometry, Cauchy's formula; mechanics). Where only
    ``whole`` beads lie, two thinner ones fill what is wider than one and a bit, and narrower than two.
    """
    rings = np.maximum(2.0 / np.pi * chord_mm / bead_mm, 1.0)
    length = area_mm2 / bead_mm
    if whole:
        two = (rings > PAIR) & (rings < 2.0)
        length, rings = np.where(two, length * 2.0 / rings, length), np.where(two, 2.0, rings)
    seconds: Column = np.where(area_mm2 > 0.0, length / speed + rings * speed / acceleration, 0.0)
    return seconds


def solid_seconds(
    area_mm2: Column,
    chord_mm: Column,
    bead_mm: float,
    speed: Column,
    acceleration: Column | float,
    deviation_mm: float,
    strokes: Column | float = 1.0,
    cosine: Column | float = 0.0,
    diagonal_share: Column | float = 1.0,
    whole: bool = False,
) -> Column:
    """Seconds to fill areas whole: by lines to and fro, or along the edge where they are narrow.

    ``whole`` as for `strip_seconds`.
    """
    narrow = 2.0 / np.pi * chord_mm < STRIP_BEADS * bead_mm
    lines = line_seconds(
        area_mm2,
        chord_mm * diagonal_share,
        bead_mm,
        bead_mm,
        speed,
        acceleration,
        deviation_mm,
        strokes=strokes,
        cosine=cosine,
    )
    strips = strip_seconds(area_mm2, chord_mm, bead_mm, speed, acceleration, whole)
    return np.where(narrow, strips, lines)
