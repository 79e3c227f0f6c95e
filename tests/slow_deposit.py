"""An independent, slow reckoning of the deposit: every layer cut and offset with the polygon library.

Shares no code with the planner: the cut is that of `trimesh`, regions are those of `shapely`, every
layer is done, corners are mitred as beads run them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
import trimesh
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components
from scipy.spatial import cKDTree

from tests.toolpaths.lines import raster

PLACES = 5  # of the grid of lines under the part
LOOKS = 100  # at the lines of a part, over all its layers
MITRE = {"join_style": "mitre", "mitre_limit": 2.0}


@dataclass(frozen=True)
class SlowDeposit:
    """Volumes in mm3."""

    wall: float
    solid: float
    sparse: float

    @property
    def total(self) -> float:
        return self.wall + self.solid + self.sparse


def slow_deposit(
    triangles: NDArray[np.float64],
    *,
    layer: float = 0.2,
    first: float | None = None,
    width: float = 0.45,
    least: float = 0.25,
    walls: int = 2,
    top: int = 4,
    bottom: int = 4,
    infill: float = 0.1,
) -> SlowDeposit:
    """Wall, solid and sparse volume of a standing mesh, (m, 3, 3) mm."""
    mesh = solid_of(triangles)
    floor, ceiling = mesh.bounds[0][2], mesh.bounds[1][2]
    first = layer if first is None else first
    heights, mids = [first], [first / 2]
    while mids[-1] + 0.5 * (heights[-1] + layer) < ceiling - floor - 1e-6:
        mids.append(mids[-1] + 0.5 * (heights[-1] + layer))
        heights.append(layer)
    sections = [section_of(mesh, floor + z) for z in mids]
    void = 0.5 * layer * (1 - math.pi / 4)  # what a round bead end leaves free of a flat side
    pitch = width - layer * (1 - math.pi / 4)
    inner = [_wide(s.buffer(-(void + walls * pitch), **MITRE), pitch) if walls else s for s in sections]
    wall = solid = sparse = 0.0
    for i, (area, free, height) in enumerate(zip(sections, inner, heights, strict=True)):
        if walls:
            printable = area.buffer(-least / 2, **MITRE).buffer(least / 2 + 0.001, **MITRE).intersection(area)
            wall += max(0.0, printable.buffer(-void, **MITRE).area - free.area) * height
        held = free
        for j in range(1, top + 1):
            held = held.intersection(sections[i + j]) if i + j < len(sections) else shapely.Polygon()
        for j in range(1, bottom + 1):
            held = held.intersection(sections[i - j]) if i - j >= 0 else shapely.Polygon()
        solid += (free.area - held.area) * height
        sparse += _lines_mm(held, pitch, infill, i, len(mids)) * pitch * height
    return SlowDeposit(wall, solid, sparse)


def solid_of(triangles: NDArray[np.float64]) -> trimesh.Trimesh:
    """The mesh with corners that meet made one."""
    mesh = trimesh.Trimesh(**trimesh.triangles.to_kwargs(triangles), process=True, merge_norm=True)
    mesh.merge_vertices()
    return mesh


def section_of(mesh: trimesh.Trimesh, z: float) -> shapely.Geometry:
    """Region cut at a height, moved by a tenth of a micron so that the plane meets no vertex."""
    lines = trimesh.intersections.mesh_plane(mesh, (0.0, 0.0, 1.0), (0.0, 0.0, z + 1.3e-7))
    if len(lines) == 0:
        return shapely.Polygon()
    ends = lines[:, :, :2].reshape(-1, 2)
    # ends closer than a micron are one corner
    _, group = connected_components(cKDTree(ends).sparse_distance_matrix(cKDTree(ends), 1e-6), directed=False)
    corner = np.zeros((group.max() + 1, 2))
    corner[group] = ends
    sides = corner[group].reshape(-1, 2, 2)
    sides = sides[np.abs(sides[:, 0] - sides[:, 1]).sum(axis=1) > 0.0]
    faces = shapely.get_parts(shapely.polygonize(shapely.linestrings(sides)))
    if len(faces) == 0:
        return shapely.Polygon()
    # even-odd: a face is material when it lies inside an odd number of the rings around it
    rings = shapely.polygons(shapely.get_exterior_ring(faces))
    region = shapely.Polygon()
    for ring in rings[np.argsort(-shapely.area(rings))]:
        region = region.symmetric_difference(ring)
    return region.buffer(0.0)


def _wide(region: shapely.Geometry, width: float) -> shapely.Geometry:
    """The region without what is narrower than a bead: that is filled as a wall."""
    return region.buffer(-width / 2, **MITRE).buffer(width / 2 + 0.001, **MITRE).intersection(region)


def _lines_mm(region: shapely.Geometry, pitch: float, infill: float, at: int, layers: int) -> float:
    """Length of lines at 45 degrees over the region of layer ``at``, joined along its edge.

    From layer to layer they turn, and lie elsewhere: a part shows the mean of where its bed may hold it. Of
    low parts every layer is drawn many times.
    """
    if infill <= 0.0 or region.is_empty:
        return 0.0
    spacing = pitch / infill
    if spacing <= 1.001 * pitch:
        return float(region.area) / pitch
    times = max(1, LOOKS // layers)
    laid = 0.0
    for n in range(at * times, (at + 1) * times):
        lines = raster(region, spacing, pitch, 45.0 - 90.0 * (n % 2), (0.5 + n // 2 % PLACES) / PLACES)
        laid += sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines)
    return laid / times
