"""An independent, slow generator of support: every bead of every layer as a line, from sections by shapely.

Shares no code with the planner: sections are cut by `trimesh`, columns grow from layer to layer as
regions of the polygon library, walls are real offset lines and fills are real parallel lines.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from tests import builders
from tests.slow_deposit import section_of, solid_of
from tests.toolpaths.generate import STRIP_BEADS
from tests.toolpaths.lines import raster
from tests.toolpaths.regions import fits, grown, rings_of, without
from tests.toolpaths.seconds import Machine, path_seconds
from tests.toolpaths.settings import LayerPath, Stroke
from tests.toolpaths.walls import rings as walls_of

Triangles = NDArray[np.float64]
SUPPORT, FACE = "support", "support face"
PLACES = 5  # of the grid of lines: columns show the mean over where they may lie under it
PROPPED = {
    "table": builders.joined(builders.box(10, 10, 12, (15, 15, 0)), builders.box(40, 40, 3, (0, 0, 12))),
    "shelf": builders.joined(
        builders.box(40, 30, 3), builders.box(3, 30, 12, (0, 0, 3)), builders.box(40, 30, 2, (0, 0, 15))
    ),
    "mushroom": builders.frustum(8, 40, 10, n=48),
    "ball": builders.sphere(24, 3),
    "ring": builders.ring(40, 12, 48, 24),
}


@dataclass(frozen=True)
class SlowSupport:
    """All beads, layer by layer, lowest first."""

    layers: list[list[Stroke]] = field(repr=False)

    @property
    def volume(self) -> float:
        """Volume of all beads, mm3."""
        return sum(stroke.volume for layer in self.layers for stroke in layer)

    def seconds(self, machine: Machine) -> float:
        """Seconds of all beads and the ways between them; the change of layers belongs to the part."""
        made = [
            LayerPath(0.0, 0.0, shapely.union_all([shapely.LineString(s.points).buffer(0.3) for s in layer]),
                      tuple(layer), False)
            for layer in self.layers if layer
        ]  # fmt: skip
        return float(path_seconds(made, replace(machine, change=0.0)).sum())


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
    least: float = 0.45,
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
    beads: list[list[Stroke]] = [[] for _ in mids]
    pitch = width - layer * (1 - math.pi / 4)
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
        beads[i] = _beads(laid, roof, walls, width, pitch, least, infill, layer, i)
    return SlowSupport(beads)


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
    infill: float, height: float, at: int,
) -> list[Stroke]:  # fmt: skip
    """Walls as offset rings, a roof of touching lines, and lines apart in the rest.

    Where opposite walls meet, they share the room that is there.
    """
    laid = laid.buffer(-least / 2).buffer(least / 2)
    edge = (width - pitch) / 2 if walls else 0.0
    inner = laid.buffer(-(edge + walls * pitch), join_style="mitre") if walls else laid
    rings = [r for k in range(walls) for r in rings_of(grown(laid, -(width / 2 + k * pitch)))]
    if walls:  # columns too narrow for a ring: one bead along their middle
        slim = laid.difference(laid.buffer(-width / 2).buffer(width / 2 + 0.01))
        rings += [_middle(piece, pitch) for piece in shapely.get_parts(slim) if piece.area > width * width]
    room = laid.area - edge * laid.length - inner.area
    length = sum(Stroke(ring, SUPPORT, 1.0).length for ring in rings)
    share = min(1.0, room / (length * pitch)) if length > 0.0 else 1.0
    mm2, turn = pitch * height, 45.0 + 90.0 * (at % 2)
    found = [Stroke(ring, SUPPORT, share * mm2) for ring in rings]
    found += _face(inner.intersection(roof), pitch, height, turn)
    if infill > 0.0:
        shift = (0.5 + at // 2 % PLACES) / PLACES
        lines = raster(inner.difference(roof), pitch / infill, pitch, turn, shift)
        found += [Stroke(r, SUPPORT, mm2) for r in lines]
    return found


def _face(region: shapely.Geometry, pitch: float, height: float, turn: float) -> list[Stroke]:
    """Touching lines; what is narrower than a few of them, as the edge of a column is, is filled by rings."""
    wide = fits(region, STRIP_BEADS * pitch)
    lines = [Stroke(r, FACE, pitch * height) for r in raster(wide, pitch, pitch, turn)]
    return lines + walls_of(without(region, wide), pitch, height, FACE)


def _middle(piece: shapely.Geometry, pitch: float) -> NDArray[np.float64]:
    """A bead as long as a slim piece of that area, beginning in it."""
    start = shapely.get_coordinates(piece.representative_point())[0]
    return np.array([start, start + np.array([piece.area / pitch, 0.0])])
