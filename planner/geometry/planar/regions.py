"""Flat regions of oriented rings, and what is left of one beside another."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry.planar.polygon import Points, Region
from planner.geometry.planar.ragged import picked

Index = NDArray[np.int64]
Regions = NDArray[np.object_]  # of regions


def region_of(rings: Sequence[Points], fine: float) -> Region:
    """The region of rings that do not cross, simplified within ``fine``; holes run clockwise."""
    rings = [ring for ring in rings if len(ring) >= 3]
    if not rings:
        return shapely.Polygon()
    starts = np.concatenate([[0], np.cumsum([len(ring) for ring in rings])])
    return regions_of(np.concatenate(rings), starts, np.array([0, len(rings)]), fine)[0]


def regions_of(points: Points, starts: Index, plane: Index, fine: float) -> Regions:
    """Regions (k,) of the rings of many sections, made at once; as `region_of` does for one.

    ``starts`` (r + 1,) tells where the rings begin among the points, ``plane`` (k + 1,) where those of each
    section begin. An opening belongs to the smallest outer ring around it; one that lies in none is left out.
    """
    regions = np.full(len(plane) - 1, shapely.Polygon())
    sizes = np.diff(starts)
    ring = np.flatnonzero(sizes >= 3)
    if len(ring) == 0:
        return regions
    at = np.repeat(np.arange(len(sizes)), sizes)
    kept = sizes[at] >= 3
    lines = shapely.linearrings(points[kept], indices=np.unique(at[kept], return_inverse=True)[1])
    section = np.searchsorted(plane, ring, side="right") - 1
    outward = shapely.is_ccw(lines)
    shell, hole = np.flatnonzero(outward), np.flatnonzero(~outward)
    around = _around(lines, shell, hole, section, points[starts[ring[hole]]])
    found = around >= 0
    member = np.concatenate([np.arange(len(shell)), around[found]])
    order = np.argsort(member, kind="stable")  # every shell before its holes
    if len(shell) == 0:  # facets in disorder
        return regions
    solid = shapely.polygons(lines[np.concatenate([shell, hole[found]])[order]], indices=member[order])
    of, numbered = np.unique(section[shell], return_inverse=True)
    made = shapely.multipolygons(solid, indices=numbered)
    made = shapely.simplify(made, fine) if fine > 0.0 else made
    crossed = ~shapely.is_valid(made)
    made[crossed] = shapely.buffer(made[crossed], 0.0)  # corners that touch
    regions[of] = made
    return regions


def _around(lines: Regions, shell: Index, hole: Index, section: Index, corner: Points) -> Index:
    """The smallest outer ring, as a place in ``shell``, around each hole of its section; -1 for none."""
    first = np.searchsorted(section[shell], section[hole], side="left")
    many = np.searchsorted(section[shell], section[hole], side="right") - first
    pair = np.repeat(np.arange(len(hole)), many)
    other = np.arange(len(pair)) - np.repeat(np.cumsum(many) - many, many) + first[pair]
    solid = shapely.polygons(lines[shell])
    inside = shapely.contains_xy(solid[other], corner[pair, 0], corner[pair, 1])
    pair, other = pair[inside], other[inside]
    order = np.lexsort((-shapely.area(solid[other]), pair))  # the smallest is written last
    around = np.full(len(hole), -1)
    around[pair[order]] = other[order]
    return around


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


def caps_within(
    points: Points, starts: Index, plane: Index, depth: Points, apart: float, met: NDArray[np.bool_]
) -> Points:
    """Caps, (k,), of what lies deeper in many sections than ``depth`` (k,); none where nothing is left.

    ``met`` (k,) tells where the moved rings of a section meet: there the polygon library parts them.
    """
    from planner.geometry.planar import strokes_kernel

    found = np.zeros(len(met))
    some = np.flatnonzero(~met)
    found[some] = strokes_kernel.moved_caps(*picked(points, starts, plane, some), depth[some], apart)
    rest = np.flatnonzero(met)
    with np.errstate(all="ignore"):  # facets in disorder divide by nothing in the library
        regions = regions_of(*picked(points, starts, plane, rest), 0.0)
        try:
            found[rest] = caps(shapely.buffer(regions, -depth[rest], join_style="mitre"), apart)
        except shapely.errors.GEOSException:
            found[rest] = 0.0
    return found


def caps(regions: Regions, apart: float) -> Points:
    """Mean length of the edges of regions (k,) beyond every other stretch between lines that lie ``apart``.

    Lines run at 45 degrees either way, lie anywhere and are joined along the edge, as drawn by
    `planner.geometry.planar.strokes_kernel`: of an edge P steps are laid over (P - caps) / 2.
    """
    from planner.geometry.planar import strokes_kernel

    parts, region = shapely.get_parts(regions, return_index=True)
    rings, part = shapely.get_rings(parts, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    starts = np.searchsorted(ring, np.arange(len(rings) + 1))
    begins = np.searchsorted(region[part], np.arange(len(regions) + 1))
    edge: Points = shapely.length(regions)
    return edge - 2.0 * strokes_kernel.steps(points, starts, begins, apart)
