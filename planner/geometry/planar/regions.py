"""Flat regions of oriented rings, and what is left of one beside another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from planner.geometry.planar.polygon import Points, Region, rings_of


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


def parted(region: Region, within: Region, depth: float) -> tuple[Region, Region]:
    """Of what lies deeper than ``depth``: what another region covers, and the rest of it."""
    inner = shrunk(region, depth)
    if inner.is_empty or within.is_empty:
        return shapely.Polygon(), inner
    return inner.intersection(within), inner.difference(within)


def measures(region: Region) -> tuple[float, float, int]:
    """Area, length of all edges, number of parts."""
    if region.is_empty:
        return 0.0, 0.0, 0
    return float(region.area), float(region.length), len(shapely.get_parts(region))


def caps_within(rings: Sequence[Points], depth: float, apart: float) -> float:
    """Caps of the edges of what lies deeper than ``depth``; none where disorder leaves no region."""
    with np.errstate(all="ignore"):  # facets in disorder divide by nothing in the library
        try:
            return caps(shrunk(region_of(rings, 0.0), depth), apart)
        except shapely.errors.GEOSException:
            return 0.0


def caps(region: Region, apart: float) -> float:
    """Mean length of the edges that no line and no step along the edge reaches; lines lie ``apart``.

    Lines run at 45 degrees either way and lie anywhere: a stretch of edge that is ``t`` short of the
    utmost point of its ring is beyond the outermost line with a chance of 1 - t / apart, and a ring lower
    than ``apart`` that no line meets is beyond all of it. An opening that one line meets has no such ends:
    the line goes on round it. Where two or more meet it, lines go to and fro on either side and not across
    its ends. Where no line lies between the end of an opening and that of the outer edge beside it, lines go
    to and fro round them, and every other stretch of both is laid as elsewhere; where none lies at either
    end of the opening, which is so in 1 - above - below of all cases at least, all but the last of two ends.
    """
    from planner.geometry.planar import caps_kernel

    rings = rings_of(region)
    if not rings:
        return 0.0
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])]).astype(np.int64)
    return float(caps_kernel.unlaid(np.concatenate(rings), starts, apart))
