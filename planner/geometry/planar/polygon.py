"""The one seam to the polygon library: unions, offsets and outlines of flat regions."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

Points = NDArray[np.float64]
Region: TypeAlias = shapely.Geometry  # whoever asks for one only hands it back to this file

MOST_TESTS = 50_000_000  # faces times sides
ROUNDING = 1e-9  # mm2
GRID = 1e-4  # mm: crossings are moved to a grid of this size where they cannot be told apart


def covered(rings: Sequence[Points]) -> list[Points]:
    """Rings of the region that the given rings wind round at least once (each point counted once).

    Outer rings counter-clockwise, holes clockwise, as given and as returned. A knot of more crossings
    than can be told apart in reasonable time is returned as it came.
    """
    closed = [np.vstack([ring, ring[:1]]) for ring in rings if len(ring) >= 3]
    if not closed:
        return []
    noded = _noded(shapely.multilinestrings([shapely.linestrings(c) for c in closed]))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(noded)))
    if len(faces) == 0:
        return []
    if len(faces) * sum(len(c) for c in closed) > MOST_TESTS:
        return list(rings)
    inside = shapely.get_coordinates(shapely.point_on_surface(faces))
    kept = faces[winding(closed, inside) >= 1]
    return [] if len(kept) == 0 else rings_of(shapely.union_all(kept))


def _noded(lines: shapely.Geometry) -> shapely.Geometry:
    """Lines cut where they cross; on a fine grid where exact noding finds no end (nearly parallel sides)."""
    try:
        return shapely.node(lines)
    except shapely.errors.GEOSException:
        return shapely.union_all(shapely.get_parts(lines), grid_size=GRID)


def winding(closed: Sequence[Points], at: Points) -> NDArray[np.int64]:
    """How often closed rings (first point repeated) wind round each point (crossing count)."""
    count = np.zeros(len(at), dtype=np.int64)
    for ring in closed:
        x0, y0, x1, y1 = ring[:-1, 0], ring[:-1, 1], ring[1:, 0], ring[1:, 1]
        px, py = at[:, :1], at[:, 1:]
        side = (x1 - x0) * (py - y0) - (px - x0) * (y1 - y0)
        count += ((y0 <= py) & (y1 > py) & (side > 0)).sum(axis=1)
        count -= ((y0 > py) & (y1 <= py) & (side < 0)).sum(axis=1)
    return count


def rings_of(region: shapely.Geometry) -> list[Points]:
    """Outer rings counter-clockwise and holes clockwise, first point not repeated."""
    out: list[Points] = []
    for part in shapely.get_parts(region):
        if part.geom_type != "Polygon" or part.is_empty:
            continue
        whole = shapely.orient_polygons(part)
        out.append(shapely.get_coordinates(whole.exterior)[:-1])
        out += [shapely.get_coordinates(hole)[:-1] for hole in whole.interiors]
    return out


def signed_area(ring: Points) -> float:
    """Shoelace formula, positive counter-clockwise."""
    x, y = ring[:, 0] - ring[0, 0], ring[:, 1] - ring[0, 1]
    return float(0.5 * (x[:-1] @ y[1:] - x[1:] @ y[:-1]))  # the closing side starts and ends at zero


def filled(rings: Iterable[Points]) -> shapely.Geometry:
    """Union of the outer rings with their holes filled."""
    outers = [shapely.make_valid(shapely.polygons(r)) for r in rings if len(r) >= 3 and signed_area(r) > 0.0]
    return shapely.union_all(outers) if outers else shapely.Polygon()


def rim(rings: Iterable[Points], width: float) -> tuple[float, list[Points]]:
    """Area of the band of ``width`` outside the outer rings, and the rings of all of it filled."""
    inside = filled(rings)
    if inside.is_empty:
        return 0.0, []
    grown = inside.buffer(width, quad_segs=16)
    return float(grown.area - inside.area), rings_of(grown)


def hull_area(points: Points) -> float:
    """Area of the convex hull of points."""
    return float(shapely.convex_hull(shapely.linestrings(points)).area)


def hull_middle(points: Points) -> tuple[float, Points]:
    """Area of the convex hull of points and the middle of that area, (2,)."""
    around = shapely.convex_hull(shapely.linestrings(points))
    return float(around.area), shapely.get_coordinates(shapely.centroid(around))[0]


def hull(rings: Sequence[Points]) -> Points:
    """Convex hull of all rings, counter-clockwise."""
    return rings_of(shapely.convex_hull(shapely.linestrings(np.concatenate(rings))))[0]


def enclosing_circle(points: Points) -> tuple[Points, float]:
    """Centre, (2,), and radius of the smallest circle round all points."""
    around = shapely.multipoints(points)
    middle = shapely.get_coordinates(shapely.centroid(shapely.minimum_bounding_circle(around)))[0]
    return middle, float(shapely.minimum_bounding_radius(around))


def united(rings: Sequence[Points]) -> list[Points]:
    """Rings of the union of outer rings, less the holes that none of them covers."""
    solid = [shapely.make_valid(shapely.polygons(r)) for r in rings if signed_area(r) > 0.0]
    open_ = [shapely.make_valid(shapely.polygons(r)) for r in rings if signed_area(r) < 0.0]
    return rings_of(shapely.union_all(solid).difference(shapely.union_all(open_)))


def simple(ring: Points) -> bool:
    """Whether a ring does not cross or touch itself."""
    return bool(shapely.is_valid(shapely.polygons(ring)))


def encloses(outer: Points, inner: Points) -> bool:
    """Whether no more of the inner ring's area lies outside the outer one than rounding leaves there."""
    around, within = (shapely.make_valid(shapely.polygons(ring)) for ring in (outer, inner))
    return bool(around.covers(within) or within.difference(around).area <= ROUNDING)


def shrunk(ring: Points, by: float) -> Points:
    """The largest piece of what lies ``by`` or more inside an opening, simplified within that, clockwise."""
    left = shapely.make_valid(shapely.polygons(ring)).buffer(-by, join_style="mitre").simplify(by)
    pieces = [r for r in rings_of(left) if signed_area(r) > 0.0]
    return max(pieces, key=signed_area)[::-1] if pieces else ring[:0]


def shared(first: Points, second: Points) -> tuple[float, Points]:
    """Area that two sets of triangles (k, 3, 2) both cover, and its centroid (2,)."""
    both = _covered_by(first).intersection(_covered_by(second))
    if both.is_empty:
        return 0.0, np.zeros(2)
    return float(both.area), shapely.get_coordinates(both.centroid)[0]


def _covered_by(triangles: Points) -> shapely.Geometry:
    flat = shapely.polygons(np.ascontiguousarray(triangles))
    return shapely.union_all(flat[shapely.area(flat) > 0.0])


def of_triangles(triangles: Points) -> Region:
    """The region that triangles (k, 3, 2) cover."""
    return _covered_by(triangles)


def of_sides(sides: Points) -> Region:
    """The region that closed walks of sides (s, 2, 2), material on their left, wind round at least once."""
    if len(sides) < 3:
        return shapely.Polygon()
    lines = shapely.multilinestrings(shapely.linestrings(sides))
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(_noded(lines))))
    if len(faces) == 0 or len(faces) * len(sides) > MOST_TESTS:
        return shapely.Polygon()
    px, py = (at[:, None] for at in shapely.get_coordinates(shapely.point_on_surface(faces)).T)
    (x0, y0), (x1, y1) = sides[:, 0].T, sides[:, 1].T
    left = (x1 - x0) * (py - y0) - (px - x0) * (y1 - y0)
    count = ((y0 <= py) & (y1 > py) & (left > 0)).sum(axis=1)
    count -= ((y0 > py) & (y1 <= py) & (left < 0)).sum(axis=1)
    return shapely.union_all(faces[count >= 1])


def without_holes(region: Region) -> Region:
    """What the outer rings of a region enclose."""
    return filled(rings_of(region))


def middle_of_box(region: Region) -> Points:
    """Middle of the box round a region, (2,)."""
    low_x, low_y, high_x, high_y = region.bounds
    return np.array([low_x + high_x, low_y + high_y]) / 2.0


def shifted(region: Region, by: Points) -> Region:
    """A region moved by (2,)."""
    return shapely.transform(region, lambda points: points + by)


def differ_by(first: Region, second: Region) -> float:
    """Mean width of the band between two outlines: the area that only one covers over the length round it."""
    around = min(first.length, second.length)
    return float(first.symmetric_difference(second).area / around) if around > 0.0 else 0.0


def shared_area(first: Region, second: Region) -> float:
    """Area that both cover."""
    return float(first.intersection(second).area)


def shared_deeply(first: Region, second: Region, by: float) -> bool:
    """Whether the regions cover a spot in common that is ``by`` or more away from its edge."""
    return not first.intersection(second).buffer(-by).is_empty


def simplified(rings: Sequence[Points], by: float) -> list[Points]:
    """Rings with fewer points that stay within ``by`` (Douglas and Peucker); tiny ones are dropped."""
    thin = [shapely.get_coordinates(shapely.simplify(shapely.polygons(r).exterior, by))[:-1] for r in rings]
    return [ring for ring in thin if len(ring) >= 3]
