"""From a mesh to the beads of every layer."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray

from tests.toolpaths.cut import Slab, slabs
from tests.toolpaths.lines import raster
from tests.toolpaths.regions import both, fits, grown, pitch_of, rings_of, united, without
from tests.toolpaths.settings import LayerPath, Settings, Stroke
from tests.toolpaths.walls import rings, walls

ANGLES_DEG = (45.0, -45.0)
PLACES = 5  # of the grid of lines under the part: a tall part shows the mean over where it may lie on a bed
STRIP_BEADS = 4.0  # solid strips narrower than so many beads are filled by rings (common practice, no source)


def toolpath(triangles: NDArray[np.float64], cfg: Settings) -> list[LayerPath]:
    """All layers of a standing mesh, (m, 3, 3) mm; layers that are alike are made once."""
    cuts = slabs(triangles, cfg.layer, cfg.first_layer)
    kept: dict[tuple[object, ...], Any] = {}

    def once(key: tuple[object, ...], make: Callable[[], Any]) -> Any:
        if key not in kept:
            kept[key] = make()
        return kept[key]

    out = []
    for i, cut in enumerate(cuts):
        climbs = cfg.spiral and i >= cfg.bottom
        count = 1 if climbs else max(cfg.walls, 1 if cfg.spiral else 0)
        wall = once(
            (cut.section.wkb, count, cut.height), lambda c=cut, n=count: walls(c.section, cfg, c.height, n)
        )
        fills = list[Stroke]()
        if not climbs and not wall.inner.is_empty:
            held = _held(i, cuts, wall.inner, cfg)
            if cfg.anchor:
                held = without(held, grown(without(wall.inner, held), cfg.anchor))
            solid = _kinds(i, cuts, without(wall.inner, held), cfg)
            key = (held.wkb, *(region.wkb for region in solid.values()), cut.height, i % (2 * PLACES))
            fills = once(key, lambda c=cut, n=i, s=solid, h=held: _fills(n, c.height, s, h, cfg))
        strokes = (*_brim(i, cut, cfg), *wall.strokes, *fills)
        out.append(LayerPath(cut.top, cut.height, cut.section, strokes, climbs))
    return out


def _held(i: int, cuts: list[Slab], inner: shapely.Geometry, cfg: Settings) -> shapely.Geometry:
    """What has material on all the layers close above and below."""
    held = inner
    for j in range(i - cfg.bottom, i + (0 if cfg.spiral else cfg.top) + 1):
        held = both(held, cuts[j].section) if 0 <= j < len(cuts) else shapely.Polygon()
    return held


def _kinds(i: int, cuts: list[Slab], solid: shapely.Geometry, cfg: Settings) -> dict[str, shapely.Geometry]:
    """Solid regions by kind: bridges over air or over sparse lines, top where nothing is above, and the rest.

    Pieces narrower than a bead lie on what is beside them.
    """
    if not cfg.faces:
        return {"solid": solid}
    nothing, pitch = shapely.Polygon(), pitch_of(cfg, cuts[i].height)
    air = lines = nothing
    if i and cfg.bottom:
        air = fits(without(solid, cuts[i - 1].section), pitch)
    if i and cfg.top and cfg.infill < 0.999:
        lines = fits(both(without(solid, air), _held(i - 1, cuts, cuts[i - 1].section, cfg)), pitch)
    bridge = united([air, lines])
    above = cuts[i + 1].section if i + 1 < len(cuts) else nothing
    left = without(solid, bridge)
    top = fits(without(left, above), pitch) if cfg.top else nothing
    return {"bridge": bridge, "top": top, "solid": without(left, top)}


def _fills(
    i: int, height: float, solid: dict[str, shapely.Geometry], held: shapely.Geometry, cfg: Settings
) -> list[Stroke]:
    """Solid where nothing holds or covers, else sparse; lines turn from layer to layer."""
    pitch, angle, shift = pitch_of(cfg, height), ANGLES_DEG[i % 2], (0.5 + i // 2 % PLACES) / PLACES
    out = [s for kind, area in solid.items() for s in _solid(area, cfg, height, (angle, shift), kind)]
    if cfg.infill > 1e-6:
        out += [
            Stroke(line, "sparse", pitch * height)
            for line in raster(held, pitch / cfg.infill, pitch, angle, shift)
        ]
    return out


def _solid(
    region: shapely.Geometry, cfg: Settings, height: float, lines: tuple[float, float], kind: str
) -> list[Stroke]:
    """Touching lines; what is narrower than a few of them is filled along its length."""
    pitch = pitch_of(cfg, height)
    wide = fits(region, STRIP_BEADS * pitch)
    out = [Stroke(line, kind, pitch * height) for line in raster(wide, pitch, pitch, *lines)]
    return out + rings(without(region, wide), pitch, height, kind)


def _brim(i: int, cut: Slab, cfg: Settings) -> list[Stroke]:
    """Rings round the outside of the first layer, one pitch apart."""
    if i or cfg.brim <= 0.0:
        return []
    pitch = pitch_of(cfg, cut.height)
    solid = shapely.union_all([shapely.Polygon(p.exterior) for p in shapely.get_parts(cut.section)])
    rounds = max(1, round(cfg.brim / pitch))
    lines = [ring for k in range(rounds) for ring in rings_of(solid.buffer((k + 0.5) * pitch))]
    return [Stroke(line, "brim", pitch * cut.height) for line in lines]
