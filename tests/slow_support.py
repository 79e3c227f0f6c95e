"""An independent, slow generator of support: every bead of every layer as a line, from sections by shapely.

Shares no code with the planner: sections are cut by `trimesh`, columns grow from layer to layer as
regions of the polygon library, walls are real offset lines and fills are real parallel lines.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.slow_deposit import section_of, solid_of

Triangles = NDArray[np.float64]
Bead = tuple[str, shapely.Geometry, float]


@dataclass(frozen=True)
class SlowSupport:
    """Volume of all beads in mm3 and the beads, layer by layer: kind, lines, share of a whole bead."""

    volume: float
    layers: list[list[Bead]] = field(repr=False)


def slow_support(
    triangles: Triangles,
    *,
    where: str = "everywhere",
    angle: float = 40.0,
    infill: float = 0.15,
    walls: int = 1,
    interface: int = 2,
    gap: float = 0.5,
    height_gap: float = 0.2,
    widening: float = 3.0,
    layer: float = 0.2,
    width: float = 0.45,
    least: float = 0.25,
) -> SlowSupport:
    """The beads under everything that looks down flatter than ``angle``, degrees from level."""
    mesh = solid_of(triangles)
    floor, ceiling = mesh.bounds[0][2], mesh.bounds[1][2]
    mids = np.arange(layer / 2, ceiling - floor - 1e-6, layer)
    sections = [section_of(mesh, floor + z) for z in mids]
    tops = _tops(mesh.triangles - [0.0, 0.0, floor], angle, height_gap, mids, layer)
    column = shapely.Polygon()
    under = [shapely.Polygon()] * len(mids)  # all that stands below a layer
    for i in range(1, len(mids)):
        under[i] = under[i - 1].union(sections[i - 1].buffer(0.001)) if where == "bed only" else under[i]
    beads: list[list[Bead]] = [[] for _ in mids]
    pitch = width - layer * (1 - math.pi / 4)
    volume = 0.0
    for i in range(len(mids) - 1, -1, -1):
        spread = layer * math.tan(math.radians(widening))
        column = column.buffer(spread, quad_segs=3).simplify(0.003) if spread else column
        column = column.union(tops[i]).buffer(0.0005).difference(sections[i].buffer(0.001))
        column = column.difference(under[i]) if where == "bed only" else column
        laid = column.difference(sections[i].buffer(gap)) if gap else column
        if where == "everywhere" and height_gap:
            for low in (height_gap, height_gap / 2):
                if mids[i] - low > 0.0:
                    laid = laid.difference(section_of(mesh, floor + mids[i] - low))
        roof = shapely.union_all(tops[i : i + interface])
        beads[i] = _beads(laid, roof, walls, width, pitch, least, infill, i)
        volume += sum(line.length * share for _, line, share in beads[i]) * pitch * layer
    return SlowSupport(float(volume), beads)


def _tops(
    triangles: Triangles, angle: float, height_gap: float, mids: NDArray[np.float64], layer: float
) -> list[shapely.Geometry]:
    """For every layer the region of flat facets whose columns have their top in it."""
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    size = np.linalg.norm(normal, axis=1)
    flat = normal[:, 2] < -math.cos(math.radians(angle)) * size
    flat &= triangles[:, :, 2].max(axis=1) > layer / 2
    found: list[list[shapely.Geometry]] = [[] for _ in mids]
    for facet in triangles[flat]:
        low, high = facet[:, 2].min() - height_gap, facet[:, 2].max() - height_gap
        first = max(0, int(np.searchsorted(mids, low, side="left")) - 1)
        for i in range(first, len(mids)):
            if mids[i] > high:
                break
            piece = _between(facet, mids[i] + height_gap, mids[i] + layer + height_gap)
            if len(piece) >= 3:
                found[i].append(shapely.Polygon(piece[:, :2]).buffer(1e-5))
    return [shapely.union_all(pieces) if pieces else shapely.Polygon() for pieces in found]


def _between(facet: Triangles, low: float, high: float) -> Triangles:
    """The part of a facet between two heights, above the lower one (clipping a convex polygon)."""
    for level, sign in ((low, 1.0), (high, -1.0)):
        kept: list[Triangles] = []
        for a, b in zip(facet, np.roll(facet, -1, axis=0), strict=True):
            da, db = sign * (a[2] - level), sign * (b[2] - level)
            if da >= 0.0:
                kept.append(a)
            if (da > 0.0 > db) or (da < 0.0 < db):
                kept.append(a + (b - a) * da / (da - db))
        facet = np.array(kept)
        if len(facet) < 3:
            return facet
    return facet


def _beads(
    laid: shapely.Geometry, roof: shapely.Geometry, walls: int, width: float, pitch: float, least: float,
    infill: float, at: int,
) -> list[Bead]:  # fmt: skip
    """Walls as offset lines, a roof of touching lines, and lines apart in the rest.

    Where opposite walls meet, they share the room that is there.
    """
    laid = laid.buffer(-least / 2).buffer(least / 2)
    edge = (width - pitch) / 2 if walls else 0.0
    inner = laid.buffer(-(edge + walls * pitch), join_style="mitre") if walls else laid
    rings = [
        laid.buffer(-(width / 2 + k * pitch), join_style="mitre", mitre_limit=2.0).boundary
        for k in range(walls)
    ]
    if walls:  # columns too narrow for a ring: one bead along their middle
        slim = laid.difference(laid.buffer(-width / 2).buffer(width / 2 + 0.01))
        rings += [_middle(piece, pitch) for piece in shapely.get_parts(slim) if piece.area > width * width]
    room = laid.area - edge * laid.length - inner.area
    length = sum(ring.length for ring in rings)
    share = min(1.0, room / (length * pitch)) if length > 0.0 else 1.0
    found = [("wall", ring, share) for ring in rings]
    turn = 45.0 + 90.0 * (at % 2)
    found.append(("interface", _hatched(inner.intersection(roof), pitch, turn), 1.0))
    if infill > 0.0:
        found.append(("sparse", _hatched(inner.difference(roof), pitch / infill, turn), 1.0))
    return found


def _middle(piece: shapely.Geometry, pitch: float) -> shapely.Geometry:
    """A line as long as a slim piece of that area."""
    return shapely.LineString([(0.0, 0.0), (piece.area / pitch, 0.0)])


def _hatched(region: shapely.Geometry, apart: float, turn: float) -> shapely.Geometry:
    """Parallel lines over a region, the same ones on every layer."""
    if region.is_empty:
        return shapely.LineString()
    level = shapely.affinity.rotate(region, -turn, origin=(0.0, 0.0))
    x0, y0, x1, y1 = level.bounds
    heights = (np.arange(math.floor(y0 / apart), math.ceil(y1 / apart) + 1) + 0.5) * apart
    lines = shapely.multilinestrings([[(x0 - 1.0, y), (x1 + 1.0, y)] for y in heights])
    return level.intersection(lines)
