"""Regions, their rings, and beads along the middle of what is narrow."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.spatial import Voronoi, cKDTree

from tests.toolpaths.settings import Settings, Stroke

MITRE = {"join_style": "mitre", "mitre_limit": 2.0}
SAMPLE_MM = 0.1  # distance of the points that the middle line is found from
CRUMB_MM2 = 1e-4
GRID_MM = 1e-6  # corners are snapped to it, so that no cut fails


def grown(region: shapely.Geometry, by: float) -> shapely.Geometry:
    """The region with its edge moved out, or in where ``by`` is negative; corners stay corners."""
    return _flat(region.buffer(by, **MITRE))


def both(one: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """What lies in both."""
    return _flat(shapely.intersection(one, other, grid_size=GRID_MM))


def without(one: shapely.Geometry, other: shapely.Geometry) -> shapely.Geometry:
    """What lies in the first and not in the second."""
    return _flat(shapely.difference(one, other, grid_size=GRID_MM))


def united(many: list[shapely.Geometry]) -> shapely.Geometry:
    """What lies in any of them."""
    return _flat(shapely.union_all(many, grid_size=GRID_MM))


def _flat(region: shapely.Geometry) -> shapely.Geometry:
    """Polygons only: where regions touch, points and lines come out as well."""
    return shapely.MultiPolygon([p for p in shapely.get_parts(region) if p.geom_type == "Polygon"])


def fits(region: shapely.Geometry, width: float) -> shapely.Geometry:
    """What of the region is at least so wide (an opening)."""
    return both(grown(grown(region, -0.5 * width), 0.5 * width + 1e-4), region)


def parts_of(region: shapely.Geometry) -> list[shapely.Polygon]:
    """Its polygons, crumbs left out."""
    return [p for p in shapely.get_parts(region) if p.geom_type == "Polygon" and p.area > CRUMB_MM2]


def rings_of(region: shapely.Geometry) -> list[NDArray[np.float64]]:
    """Closed rings, first point repeated at the end."""
    return [shapely.get_coordinates(ring) for p in parts_of(region) for ring in (p.exterior, *p.interiors)]


def pitch_of(cfg: Settings, height: float) -> float:
    """Distance of beads without net void on a layer of that height."""
    return cfg.bead(cfg.width, height) / height


def narrow_beads(region: shapely.Geometry, least: float, height: float, kind: str) -> list[Stroke]:
    """One bead along the middle of every narrow piece; it fills what there is wide enough to be laid.

    The middle line is that of the Voronoi cells of points on the edge (Source: geometry); branches
    that lead into corners are left out where they come closer to the edge than half the least bead.
    """
    out = list[Stroke]()
    for piece in parts_of(fits(region, least)):
        lines = _middle_lines(piece, least)
        length = sum(line.length for line in lines)
        if length >= least:
            mm2 = piece.area * height / length
            out += [Stroke(shapely.get_coordinates(line), kind, mm2) for line in lines]
    return out


def _middle_lines(piece: shapely.Polygon, least: float) -> list[shapely.LineString]:
    sites = shapely.get_coordinates(shapely.segmentize(piece, SAMPLE_MM))
    cells = Voronoi(sites)
    ridges = np.array(cells.ridge_vertices)
    sides = cells.vertices[ridges[(ridges >= 0).all(axis=1)]]
    far = cKDTree(sites).query(sides.reshape(-1, 2))[0].reshape(-1, 2).min(axis=1)
    shapely.prepare(piece)
    sides = sides[(far >= 0.49 * least) & shapely.contains_xy(piece, *sides.mean(axis=1).T)]
    if len(sides) == 0:
        return []
    merged = shapely.line_merge(shapely.multilinestrings(shapely.linestrings(sides)))
    return [line.simplify(0.01) for line in shapely.get_parts(merged) if line.length > 2.0 * least]
