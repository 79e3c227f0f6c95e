"""Outlines laid on their own axes, so that two of one shape can be compared however they lie."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from planner.geometry.planar.polygon import Region

Points = NDArray[np.float64]
_HAIR_MM = 0.3
_GRID_MM = 1e-4
_OPEN = 0.5  # of its convex hull: a region that fills less is an open rim


@dataclass(frozen=True, eq=False, slots=True)
class Outline:
    """One closed outline, openings filled.

    Parameters
    ----------
    region : about its own middle, its long axis along x
    middle : (2,) where that middle lies in the coordinates it came from
    axis : (2,) unit vector of its long axis there
    area, round_mm : mm2, and mm round it
    radii : (2,) radii of gyration along the long axis and across it, mm
    lean : third moments along and across over the cubes of the radii: not nil where one end is blunter
    """

    region: Region
    middle: Points
    axis: Points
    area: float
    round_mm: float
    radii: Points
    lean: Points

    @property
    def size(self) -> tuple[float, float]:
        """Length along the long axis, and across it."""
        x0, y0, x1, y1 = self.region.bounds
        return float(x1 - x0), float(y1 - y0)


def outline_of(region: Region) -> Outline | None:
    """The outline round a region; None where it encloses nothing.

    Pieces that a hair's breadth parts are one, and so are those of a rim that is open somewhere: what is
    round them all then counts.

    Source: geometry; moments of a polygon as the sum of those of the triangles that its sides make with its
    middle.
    """
    ring = _ring(region)
    if ring is None:
        return None
    filled = shapely.Polygon(ring)
    middle = shapely.get_coordinates(filled.centroid)[0]
    about = ring - middle
    area, second, _ = _moments(about)
    values, vectors = np.linalg.eigh(second / area)
    axis: Points = vectors[:, 1]
    turned = about @ np.column_stack([axis, [-axis[1], axis[0]]])
    radii = np.sqrt(np.maximum(values[::-1], 0.0))
    lean = _moments(turned)[2] / area / np.maximum(radii, 1e-9) ** 3
    return Outline(
        shapely.Polygon(turned), middle, axis, float(filled.area), float(filled.length), radii, lean
    )


def _ring(region: Region) -> Points | None:
    parts = [part for part in shapely.get_parts(region) if part.geom_type == "Polygon" and part.area > 0.0]
    if not parts:
        return None
    if len(parts) > 1:
        joined = shapely.get_parts(shapely.union_all(parts).buffer(_HAIR_MM).buffer(-_HAIR_MM))
        parts = [part for part in joined if part.area > 0.0]
    hull = shapely.union_all(parts).convex_hull
    filled = shapely.Polygon(parts[0].exterior) if len(parts) == 1 else hull
    whole = hull if filled.area < _OPEN * hull.area else filled
    ring: Points = shapely.get_coordinates(whole.exterior)
    return ring


def turned_by(region: Region, angle: float, *, mirrored: bool = False) -> Region:
    """A region mirrored in the y axis if wished, then turned about the origin by an angle in rad."""
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    flip = np.array([-1.0 if mirrored else 1.0, 1.0])
    return shapely.transform(region, lambda points: (points * flip) @ turn.T)


def within_sides(sides: Points) -> Region:
    """What closed rings of sides (n, 2, 2), whose ends meet to the bit, enclose; openings are filled."""
    cells = shapely.get_parts(shapely.polygonize(shapely.linestrings(sides)))
    try:
        return shapely.union_all(cells)
    except shapely.errors.GEOSException:  # slivers of facets: to a grid they are none
        return shapely.union_all(shapely.make_valid(cells), grid_size=_GRID_MM)


def carried(region: Region, axes: Points) -> Region:
    """A region told in other axes: ``axes`` (2, 2) are its x and y axis there, as rows."""
    return shapely.transform(region, lambda points: points @ axes)


def radii_round(region: Region, steps: int) -> Points:
    """How far an outline lies from the origin, at so many equal steps of angle; (steps,) mm.

    Of outlines that a ray from the origin meets more than once it is one of the distances.
    """
    points = shapely.get_coordinates(shapely.segmentize(region.exterior, region.length / (2.0 * steps)))[:-1]
    angles = np.arctan2(points[:, 1], points[:, 0])
    order = np.argsort(angles, kind="stable")
    at = np.linspace(-np.pi, np.pi, steps, endpoint=False)
    found: Points = np.interp(at, angles[order], np.hypot(*points[order].T), period=2.0 * np.pi)
    return found


def _moments(ring: Points) -> tuple[float, Points, Points]:
    """Area, second moments (2, 2) and third moments along x and y (2,) about the origin of a closed ring."""
    a, b = ring[:-1], ring[1:]
    cross = a[:, 0] * b[:, 1] - b[:, 0] * a[:, 1]
    sign = 1.0 if cross.sum() >= 0.0 else -1.0
    cross = sign * cross
    total = a + b
    # integral of x x over a triangle with one corner in the origin: cross / 24 * (sum of products)
    second = np.einsum("i,ij,ik->jk", cross / 24.0, total, total)
    second += np.einsum("i,ij,ik->jk", cross / 24.0, a, a) + np.einsum("i,ij,ik->jk", cross / 24.0, b, b)
    third = ((a**3 + a * a * b + a * b * b + b**3) * (cross / 20.0)[:, None]).sum(axis=0)
    return float(0.5 * cross.sum()), second, third
