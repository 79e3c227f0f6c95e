"""Flat regions of oriented rings, and what is left of one beside another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from planner.geometry.polygon import Points, Region, rings_of


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
    made = shapely.simplify(made, fine) if fine > 0.0 else made
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


def shrunk(region: Region, depth: float) -> Region:
    """What lies deeper inside a region than ``depth``; corners stay corners."""
    return region if depth <= 0.0 or region.is_empty else region.buffer(-depth, join_style="mitre")


def parted(region: Region, within: Region, depth: float) -> tuple[float, Region]:
    """Of what lies deeper than ``depth``: the area that another region covers, and the rest of it."""
    inner = shrunk(region, depth)
    if inner.is_empty or within.is_empty:
        return 0.0, inner
    return float(inner.intersection(within).area), inner.difference(within)


def measures(region: Region) -> tuple[float, float, int]:
    """Area, length of all edges, number of parts."""
    if region.is_empty:
        return 0.0, 0.0, 0
    return float(region.area), float(region.length), len(shapely.get_parts(region))


def filled(region: Region) -> Region:
    """A region without its openings."""
    return shapely.multipolygons([shapely.Polygon(part.exterior) for part in shapely.get_parts(region)])


def caps_within(rings: Sequence[Points], depth: float, apart: float) -> float:
    """Caps of the outer edges of what lies deeper than ``depth``; none where disorder leaves no region."""
    with np.errstate(all="ignore"):  # facets in disorder divide by nothing in the library
        try:
            return caps(filled(shrunk(region_of(rings, 0.0), depth)), apart)
        except shapely.errors.GEOSException:
            return 0.0


def caps(region: Region, apart: float) -> float:
    """Mean length of the edges beyond the first and the last of lines that lie ``apart``.

    Lines run at 45 degrees either way and lie anywhere: a stretch of edge that is ``t`` short of the
    utmost point of its ring is beyond the outermost line with a chance of 1 - t / apart.
    """
    total = 0.0
    for ring in rings_of(region):
        side = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
        for way in (ring[:, 0] + ring[:, 1], ring[:, 0] - ring[:, 1]):
            across = way / 2.0**0.5
            for short in (across.max() - across, across - across.min()):
                total += 0.5 * float((side * _beyond(short, np.roll(short, -1), apart)).sum())
    return total


def _beyond(one: Points, other: Points, apart: float) -> Points:
    """Mean of 1 - t / apart, where that is above zero, for t from one value to another."""
    low, high = (np.minimum(t, apart) for t in (np.minimum(one, other), np.maximum(one, other)))
    whole = np.maximum(np.abs(one - other), 1e-9)
    flat: Points = np.clip(1.0 - low / apart, 0.0, None)
    mean: Points = np.where(
        np.abs(one - other) < 1e-6, flat, (high - low) * (1.0 - 0.5 * (low + high) / apart) / whole
    )
    return mean
