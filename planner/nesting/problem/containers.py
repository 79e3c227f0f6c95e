"""Beds as flat arrays for the compiled search."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from planner.geometry.planar.outline_offset import Patch, area, grown, hull, rest_of_box
from planner.model.printer import Bed
from planner.nesting.problem import array_layout as rows
from planner.nesting.problem.forms import Floats
from planner.nesting.problem.free_region import free_region
from planner.nesting.problem.item import BedKind
from planner.nesting.problem.poles import poles
from planner.nesting.problem.state import Grounds

_SLIVER_MM2 = 1e-6  # what is left between two equal edges is no obstacle


def packed_grounds(kinds: Sequence[BedKind], kind_of_bed: Sequence[int]) -> Grounds:
    """One row a kind; ``kind_of_bed`` says which kind each bed is of."""
    bed = np.zeros((len(kinds), 7))
    walls: list[tuple[Floats, Floats]] = []
    first = [0]
    for k, kind in enumerate(kinds):
        ground = free_region(kind.bed)
        bed[k, :4] = ground.bounds
        bed[k, 4:] = ground.circle or (0.0, 0.0, 0.0)
        walls += _walls(kind.bed)
        first.append(len(walls))
    longest = max((max(len(ring), len(circles), 4) for ring, circles in walls), default=1)
    wall = np.zeros((len(walls), rows.WALL_ROWS, longest))
    for o, (ring, circles) in enumerate(walls):
        wall[o, rows.WX : rows.WY + 1, : len(ring)] = ring.T
        wall[o, rows.WPX : rows.WPR + 1, : len(circles)] = circles.T
        rim = hull(ring)
        size = np.sqrt(area(Patch(rim)))
        wide = max(float(np.hypot(*(rim - corner).T).max()) for corner in rim)
        wall[o, rows.WALL_MEASURE, :4] = wide, size, len(ring), len(circles)
    return Grounds(np.array(kind_of_bed, dtype=np.int64), bed, np.array(first, dtype=np.int64), wall)


@lru_cache(maxsize=256)
def room_for_grown(bed: Bed, reach_mm: float) -> float:
    """Area that outlines grown by ``reach_mm`` can cover at most while the true ones lie on the bed, mm2."""
    return sum(area(grown(p.outer, p.holes, reach_mm, 0.0)) for p in free_region(bed).patches)


@lru_cache(maxsize=64)
def _walls(bed: Bed) -> list[tuple[Floats, Floats]]:
    """What lies inside the box round the usable ground and must be kept free, with its circles."""
    ground = free_region(bed)
    if ground.circle is not None:
        patches = tuple(Patch(np.asarray(ring, dtype=np.float64)) for ring in bed.keep_outs)
    elif ground.plain:
        patches = ()
    else:
        patches = rest_of_box(ground.patches, ground.bounds)
    return [(p.outer, poles(p.outer)) for p in patches if area(p) > _SLIVER_MM2]
