"""The part of a bed on which outlines may lie.

The margin is kept from the bed's edge to the true outline. A keep-out may be approached up to its
own edge: whoever draws one draws it with the room it needs; the strip along the front edge that a
printer keeps for purging likewise. Pieces keep their clearance among themselves only.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from planner.geometry.planar.outline_offset import Patch, area, inset
from planner.model.printer import Bed, Outline

_CIRCLE = 256  # corners of the polygon that stands for a round bed where no exact circle is needed


@dataclass(frozen=True, eq=False)
class FreeRegion:
    """The usable ground of a bed.

    ``bounds`` is the box (x0, y0, x1, y1) round it in bed coordinates, mm; ``circle`` is (x, y, radius)
    of a round bed less margin; ``plain`` says that the ground is the box itself.
    """

    patches: tuple[Patch, ...]
    bounds: tuple[float, float, float, float]
    circle: tuple[float, float, float] | None
    plain: bool
    area_mm2: float


@lru_cache(maxsize=256)
def free_region(bed: Bed) -> FreeRegion:
    """The ground of a bed less margin and keep-outs."""
    circle = None
    margin = bed.margin_mm
    if bed.shape == "round":
        radius = bed.width_mm / 2.0 - margin
        circle = (bed.width_mm / 2.0, bed.depth_mm / 2.0, radius)
        angle = np.arange(_CIRCLE) * (2.0 * np.pi / _CIRCLE)
        ring = np.column_stack([circle[0] + radius * np.cos(angle), circle[1] + radius * np.sin(angle)])
        patches = inset(ring, 0.0, _blocked(bed))
        bounds = (margin, max(margin, bed.front_room_mm), bed.width_mm - margin, bed.depth_mm - margin)
    else:
        corners = bed.outline if bed.shape == "polygon" else _corners(bed)
        patches = inset(corners, margin, _blocked(bed))
        points = np.concatenate([p.outer for p in patches]) if patches else np.zeros((1, 2))
        low, high = points.min(axis=0), points.max(axis=0)
        bounds = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    plain = bed.shape == "rectangle" and not bed.keep_outs
    return FreeRegion(patches, bounds, circle, plain, sum(area(p) for p in patches))


def _blocked(bed: Bed) -> tuple[Outline, ...]:
    """Keep-outs and the strip along the front edge."""
    if bed.front_room_mm <= bed.margin_mm:
        return bed.keep_outs
    w, d = bed.width_mm, bed.front_room_mm
    return (*bed.keep_outs, ((-1.0, -1.0), (w + 1.0, -1.0), (w + 1.0, d), (-1.0, d)))


def _corners(bed: Bed) -> tuple[tuple[float, float], ...]:
    w, d = bed.width_mm, bed.depth_mm
    return ((0.0, 0.0), (w, 0.0), (w, d), (0.0, d))
