"""Outlines grown and shrunk: what lies within, or at least, a distance of an outline.

All results are rings as (n, 2) float64 arrays, open (the first point is not repeated), outer rings
counter-clockwise and openings clockwise. Source of the operations: geometry (Minkowski sum and
erosion with a disc), done by the polygon library.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon, box
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient
from shapely.ops import unary_union

from planner.geometry.planar.polygon import signed_area

Ring = NDArray[np.float64]
Points = Sequence[tuple[float, float]] | Ring

_ARC = 16  # chords a quarter circle: an arc of 4 mm is off by 0.005 mm
_SLIVER = 1e-9  # mm2 below which a leftover is no polygon


@dataclass(frozen=True, eq=False)
class Patch:
    """One connected area: an outer ring and the openings in it."""

    outer: Ring
    holes: tuple[Ring, ...] = ()


def grown(outline: Points, holes: Iterable[Points], distance: float, tolerance: float) -> Patch:
    """Everything within ``distance`` of the filled outline, simplified outwards.

    The result holds every point that is at most ``distance`` away and none that is more than
    ``distance + 2 * tolerance`` away: the outline is grown by ``tolerance`` more than asked, then
    simplified by at most ``tolerance``. An opening that closes is gone.
    """
    if distance + tolerance <= 0.0:
        return _largest(_filled(outline, holes))
    # chords of a grown arc lie inside it; growing a little more puts them outside
    reach = (distance + tolerance) / np.cos(np.pi / (4 * _ARC))
    wide = _filled(outline, holes).buffer(reach, quad_segs=_ARC)
    return _largest(wide.simplify(tolerance) if tolerance > 0.0 else wide)


def inset(outer: Points, distance: float, keep_outs: Iterable[Points] = ()) -> tuple[Patch, ...]:
    """What is at least ``distance`` inside the ring and in none of the keep-outs."""
    ground = _filled(outer, ()).buffer(-distance, quad_segs=2 * _ARC) if distance else _filled(outer, ())
    blocked = [_filled(ring, ()) for ring in keep_outs]
    return _patches(ground.difference(unary_union(blocked)) if blocked else ground)


def rest_of_box(patches: Iterable[Patch], bounds: tuple[float, float, float, float]) -> tuple[Patch, ...]:
    """What a box holds outside the patches, cut into areas without openings."""
    ground = unary_union([_filled(p.outer, p.holes) for p in patches])
    return tuple(
        piece for patch in _patches(box(*bounds).difference(ground)) for piece in _without_openings(patch)
    )


def area(patch: Patch) -> float:
    """Area of the patch less its openings (shoelace formula)."""
    return abs(signed_area(patch.outer)) - sum(abs(signed_area(ring)) for ring in patch.holes)


def _filled(outline: Points, holes: Iterable[Points]) -> BaseGeometry:
    # arrays, as the library goes through lists point by point
    shape = Polygon(np.asarray(outline), [np.asarray(hole) for hole in holes])
    return shape if shape.is_valid else shape.buffer(0.0)


def _polygons(shape: BaseGeometry) -> list[Polygon]:
    parts = shape.geoms if hasattr(shape, "geoms") else [shape]
    return [p for p in parts if isinstance(p, Polygon) and p.area > _SLIVER]


def _patches(shape: BaseGeometry) -> tuple[Patch, ...]:
    return tuple(_patch(p) for p in _polygons(shape))


def _patch(polygon: Polygon) -> Patch:
    ordered = orient(polygon)
    return Patch(
        np.asarray(ordered.exterior.coords, dtype=np.float64)[:-1, :2].copy(),
        tuple(np.asarray(ring.coords, dtype=np.float64)[:-1, :2].copy() for ring in ordered.interiors),
    )


def _largest(shape: BaseGeometry) -> Patch:
    """The one area of a shape; several touching ones are joined by their hull, which is outwards."""
    polygons = _polygons(shape)
    if len(polygons) == 1:
        return _patch(polygons[0])
    return _patch(_polygons(MultiPolygon(polygons).convex_hull)[0])


def _without_openings(patch: Patch) -> list[Patch]:
    """Cut an area through its openings until it has none."""
    if not patch.holes:
        return [patch]
    hole = patch.holes[0]
    x = float(hole[:, 0].mean())
    whole = _filled(patch.outer, patch.holes)
    x0, y0, x1, y1 = whole.bounds
    halves = whole.intersection(box(x0, y0, x, y1)), whole.intersection(box(x, y0, x1, y1))
    return [piece for half in halves for part in _patches(half) for piece in _without_openings(part)]


def hull(points: Ring) -> Ring:
    """Corners of the convex hull, counter-clockwise from the leftmost, lowest one first."""
    around = shapely.get_coordinates(orient(shapely.convex_hull(shapely.linestrings(points))).exterior)[:-1]
    return np.roll(around, -int(np.lexsort(around.T[::-1])[0]), axis=0)
