"""The first layer: brim, contact with the bed, and parts too tall for their foot."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.planar import polygon
from planner.model.finding import Finding

Points = NDArray[np.float64]

SLENDER = 8.0  # height in diameters of a round foot of the same area (common practice, no source)


@dataclass(frozen=True, eq=False, slots=True)
class Brim:
    """Area of the brim in mm2 and the rings of the whole first layer with it."""

    area_mm2: float = 0.0
    rings: tuple[Points, ...] = ()


def brim(first_section: list[Points], width_mm: float) -> Brim:
    """Band of ``width_mm`` outside the outer rings of the first section; openings stay free."""
    if width_mm <= 0.0 or not first_section:
        return Brim()
    area, rings = polygon.rim(first_section, width_mm)
    return Brim(area, tuple(rings))


def slender(first_section: list[Points], height_mm: float, brim_mm: float, about: str) -> list[Finding]:
    """A doubt about a part that is much taller than its foot is wide.

    The foot is the convex hull of the first section: what the part would tip over.
    """
    if not first_section or brim_mm > 0.0:
        return []
    foot = polygon.hull_area(np.concatenate(first_section))
    wide = 2.0 * float(np.sqrt(foot / np.pi))
    if wide <= 0.0 or height_mm <= SLENDER * wide:
        return []
    return [
        Finding(
            about,
            f"{height_mm:.0f} mm tall on a foot of {foot / 100.0:.1f} cm²: it may come loose from the bed."
            " Give it a brim or lay it down.",
        )
    ]
