"""What falls apart where a region loses everything that is thinner than it may be."""

from __future__ import annotations

import shapely

from planner.geometry.planar.polygon import Region
from planner.geometry.planar.regions import Regions

GAP_MM = 1.0  # a shorter gap between two ends of a wall closes by itself
CRUMB_MM = 2.0  # pieces with a shorter diagonal are crumbs


def core_of(region: Region, narrow: float) -> Region:
    """What lies deeper inside than ``narrow``: empty wherever the region is thinner than twice that."""
    return region.buffer(-narrow, join_style="mitre")


def cores_of(regions: Regions, narrow: float) -> Regions:
    """`core_of` many regions at once."""
    cores: Regions = shapely.buffer(regions, -narrow, join_style="mitre")
    return cores


def is_torn(region: Region, core: Region, narrow: float) -> bool:
    """Whether the loss of what is thinner than twice ``narrow`` opens a hole or parts what hung together.

    ``core`` is `core_of` the region. Assumes: a gap below `GAP_MM` closes; holes too small to be
    told from such gaps do not count.
    """
    if core.is_empty or _counts(core) == _counts(region):
        return False
    closed = core.buffer(narrow + 0.5 * GAP_MM, quad_segs=2)
    return _parted(region, core, closed) or _opened(region, closed, narrow)


def some_lost(region: Region, core: Region) -> bool:
    """Whether a whole part of the region leaves nothing."""
    return any(not part.intersects(core) for part in shapely.get_parts(region))


def lost_below(upper: Region, lower: Region, core: Region, narrow: float) -> bool:
    """Whether a part of ``upper`` that is printed stands only on parts of ``lower`` that are lost.

    ``core`` is `core_of` the lower region.
    """
    held = core.buffer(2.0 * narrow, quad_segs=2)
    for part in shapely.get_parts(upper):
        free = part.intersects(lower) and not part.intersects(held)
        if free and not core_of(part, narrow).is_empty:
            return True
    return False


def _counts(region: Region) -> tuple[int, int]:
    parts = shapely.get_parts(region)
    return len(parts), int(shapely.get_num_interior_rings(parts).sum())


def _size(part: Region) -> float:
    low_x, low_y, high_x, high_y = part.bounds
    return float(((high_x - low_x) ** 2 + (high_y - low_y) ** 2) ** 0.5)


def _parted(region: Region, core: Region, closed: Region) -> bool:
    """Whether printed pieces of one part of the region no longer hang together."""
    kept = [piece for piece in shapely.get_parts(core) if _size(piece) >= CRUMB_MM]
    after = shapely.get_parts(closed)
    for part in shapely.get_parts(region):
        own = [piece for piece in kept if part.intersects(piece)]
        if len(own) > 1 and len({int(shapely.intersects(after, piece).argmax()) for piece in own}) > 1:
            return True
    return False


def _opened(region: Region, closed: Region, narrow: float) -> bool:
    """Whether a hole of the region has run together with another or with the outside."""
    within: list[Region] = []
    for part in shapely.get_parts(region):
        for ring in part.interiors:
            hole = shapely.Polygon(ring).buffer(-(narrow + 0.75 * GAP_MM))
            if not hole.is_empty:
                within.append(shapely.get_parts(hole)[0].representative_point())
    holes = [shapely.Polygon(ring) for part in shapely.get_parts(closed) for ring in part.interiors]
    found = [next((k for k, hole in enumerate(holes) if hole.contains(point)), -1) for point in within]
    return -1 in found or len(set(found)) < len(found)
