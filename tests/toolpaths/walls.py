"""Walls: beads along the outline, one inside the other, and one along the middle of what is left narrow."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely

from tests.toolpaths.regions import both, fits, grown, narrow_beads, pitch_of, rings_of, united, without
from tests.toolpaths.settings import Settings, Stroke

ONE_BEAD = (
    0.2  # of a pitch: beads of opposite walls closer than this are one wide bead (common practice, no source)
)


@dataclass(frozen=True)
class Walls:
    """Beads, and the region that they leave to the fills."""

    strokes: list[Stroke]
    inner: shapely.Geometry


def walls(section: shapely.Geometry, cfg: Settings, height: float, count: int) -> Walls:
    """Bead k runs half a bead and k pitches inside the outline.

    Where beads of opposite walls would overlap, they lay what there is room for and no more; where no
    whole bead fits, one narrower bead runs along the middle, down to the least width. What is narrower
    still is left open, or taken up by the beads beside it where ``cfg.gaps`` says so.
    """
    if count == 0:
        return Walls([], section)
    pitch = pitch_of(cfg, height)
    rim = 0.5 * (cfg.width - pitch)  # what round ends leave free of a flat side
    room = left = both(grown(section, -rim), fits(section, cfg.least))
    out = list[Stroke]()
    for k in range(count):
        beads, rest, left = _round(left, pitch, height, "outer wall" if k == 0 else "inner wall")
        out += beads + narrow_beads(rest, max(cfg.least - 2.0 * rim, 0.05), height, "thin")
    wide = left
    if cfg.gaps:
        wide = fits(left, pitch)
        out = widened(
            out + narrow_beads(without(left, wide), cfg.least, height, "thin"), room.area - wide.area, height
        )
    return Walls(out, wide)


def rings(region: shapely.Geometry, pitch: float, height: float, kind: str) -> list[Stroke]:
    """A region filled by rings from its edge inwards; nothing of it is left open."""
    out = list[Stroke]()
    for piece in parts(region):
        own, left = list[Stroke](), piece
        while left.area > 1e-3:
            beads, rest, left = _round(left, pitch, height, kind)
            own += beads + narrow_beads(rest, 0.1, height, kind)
        out += widened(own, piece.area, height)
    return out


def parts(region: shapely.Geometry) -> list[shapely.Geometry]:
    """Polygons of a region."""
    return [p for p in shapely.get_parts(region) if p.geom_type == "Polygon" and p.area > 1e-3]


def widened(beads: list[Stroke], area: float, height: float) -> list[Stroke]:
    """The beads, all wider or narrower by one share, so that they cover the area."""
    volume = sum(stroke.volume for stroke in beads)
    return [replace(stroke, mm2=stroke.mm2 * area * height / volume) for stroke in beads]


def _round(
    left: shapely.Geometry, pitch: float, height: float, kind: str
) -> tuple[list[Stroke], shapely.Geometry, shapely.Geometry]:
    """One bead round the edge of a region; what it leaves narrow; what is left for the next one."""
    lines = rings_of(fits(grown(left, -0.5 * pitch), ONE_BEAD * pitch))
    strands = [
        shapely.Polygon(line).boundary.buffer(0.5 * pitch, join_style="mitre", mitre_limit=2.0)
        for line in lines
    ]
    laid = both(united(strands), left)
    asked = sum(shapely.LineString(line).length for line in lines) * pitch
    share = min(1.0, laid.area / asked) if asked else 0.0
    deeper = grown(left, -pitch)
    rest = without(left, united([laid, deeper]))
    return [Stroke(line, kind, share * pitch * height) for line in lines], rest, deeper
