"""Flat regions of oriented rings, and what is left of one beside another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from planner.geometry.polygon import Points, Region


def region_of(rings: Sequence[Points], fine: float) -> Region:
    """The region of rings that do not cross, simplified within ``fine``; holes run clockwise."""
    rings = [ring for ring in rings if len(ring) >= 3]
    if not rings:
        return shapely.Polygon()
    of_ring = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    lines = shapely.linearrings(np.concatenate(rings), indices=of_ring)
    outward = shapely.is_ccw(lines)
    solid, holes = shapely.polygons(lines[outward]), lines[~outward]
    if len(solid) == 0:  # facets in disorder
        return shapely.Polygon()
    if len(holes):
        at = np.array([ring[0] for ring, out in zip(rings, outward, strict=True) if not out])
        around = shapely.contains_xy(solid[None, :], at[:, :1], at[:, 1:])
        size = np.where(around, shapely.area(solid)[None, :], np.inf)
        inside, found = size.argmin(axis=1), around.any(axis=1)
        for k in np.unique(inside[found]):
            solid[k] = shapely.polygons(lines[outward][k], holes[found & (inside == k)])
    made = shapely.multipolygons(solid)
    made = shapely.simplify(made, fine)
    return made if shapely.is_valid(made) else shapely.buffer(made, 0.0)  # corners that touch


def beside(region: Region, other: Region, gap: float) -> Region:
    """What of a region lies further than ``gap`` from another."""
    if region.is_empty or other.is_empty:
        return region
    return region.difference(other.buffer(gap, quad_segs=2))


def opened(region: Region, narrow: float) -> Region:
    """What of a region a disc of radius ``narrow`` can reach."""
    if region.is_empty:
        return region
    return region.buffer(-narrow, quad_segs=2).buffer(narrow, quad_segs=2)


def parted(region: Region, within: Region, depth: float) -> tuple[float, float, float, int]:
    """Area deeper than ``depth``; what of it another region covers; length of all edges; parts."""
    if region.is_empty:
        return 0.0, 0.0, 0.0, 0
    inner = region.buffer(-depth, join_style="mitre") if depth > 0.0 else region
    shared = 0.0 if within.is_empty else float(inner.intersection(within).area)
    return float(inner.area), shared, float(region.length), len(shapely.get_parts(region))
