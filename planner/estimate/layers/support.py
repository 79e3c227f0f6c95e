"""Support that the printer builds: columns under flat ceilings, with walls, a rim and gaps to the part."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.layers import LayerPlan
from planner.estimate.layers.sparse import joined_lines
from planner.estimate.layers.walk import Walk, between
from planner.geometry.planar.polygon import Region
from planner.geometry.sections.columns import ColumnRule, Columns, columns
from planner.geometry.sections.section import Sections
from planner.model.recipe import Recipe

Column = NDArray[np.float64]
Index = NDArray[np.int64]

STRIDE = 32  # layers between those that are looked at
JUMP = 0.02  # share by which the columns of neighbouring layers differ where something begins or ends
BEND = 0.03  # share by which their area may leave the straight line between two looks
FITS = 0.4  # of a bead to either side: where a bead fits but for a fifth it is laid
STRIP_BEADS = 4.0  # solid strips narrower than so many are filled by rings
MOST_LOOKS = 40
FINE_MM = 0.05  # outlines are taken as fine as that
LEAST_FILL = 1e-6  # smaller fractions draw no line at all
BUILT = ("bed only", "everywhere")


@dataclass(frozen=True, eq=False, slots=True)
class SupportAreas:
    """Support in every layer, (n,).

    Parameters
    ----------
    wall_mm2 : area that beads along the edge of its columns cover
    sparse_mm2, solid_mm2 : the inside of the columns, filled in part and (right under the part) whole
    line_mm : the lines of the former, with the steps along the edge that join them
    islands : columns that stand apart
    unheld_mm2 : ceilings that get none
    foot : rings of the first layer, measured from the corner of the mesh
    """

    wall_mm2: Column
    sparse_mm2: Column
    solid_mm2: Column
    line_mm: Column
    islands: Column
    unheld_mm2: float = 0.0
    foot: tuple[Column, ...] = field(default=())


def support_areas(cut: Sections, walked: Walk, plan: LayerPlan, recipe: Recipe) -> SupportAreas:
    """Columns under surfaces flatter than the recipe's angle, down to the bed or the part below.

    Nothing where the recipe has no support or the mesh brings its own.

    Assumes: a column stands under all of a flat ceiling, ends a gap below it and begins a gap above
    the part; it widens downwards and keeps a gap from the sections beside it. Every column has its
    walls, inside them the layers right under the ceiling are filled whole, the rest in part.
    """
    n = len(plan)
    if recipe.support not in BUILT or cut.overhang <= 0.0:
        return _none(n)
    found = columns(cut.mesh, _rule(cut, recipe))
    areas, unheld = found.areas(plan.mid_mm)
    if not (areas[:, 0] > 0.0).any():
        return _none(n, unheld)
    levels = _looked_at(areas)
    table, foot = _looks(found, cut, walked, plan, recipe, levels)
    full = np.array([between(levels, column, n) for column in table.T])
    full[:, int(levels[-1]) + 1 :] = 0.0
    return SupportAreas(full[0], full[1], full[2], full[3], full[4], unheld, foot)


def _none(n: int, unheld_mm2: float = 0.0) -> SupportAreas:
    none = np.zeros(n)
    return SupportAreas(none, none, none, none, none, unheld_mm2)


def _rule(cut: Sections, recipe: Recipe) -> ColumnRule:
    return ColumnRule(
        recipe.support_angle_deg,
        float(cut.mids[0]),
        recipe.support_gap_height_mm,
        recipe.support_interface_layers * recipe.layer_height_mm,
        float(np.tan(np.radians(recipe.support_widening_deg))),
        0.5 * recipe.layer_height_mm,
        recipe.support == "bed only",
    )


def _looked_at(areas: Column) -> Index:
    """Layers that are looked at: the ends, both sides of every jump, a stride, and more where areas bend."""
    last = int(np.flatnonzero(areas[:, 0] > 0.0)[-1])
    most = np.maximum(areas[: last + 1].max(axis=0), 1e-9)
    share = areas[: last + 1] / most
    step = np.abs(np.diff(share, axis=0)).max(axis=1) if last else np.zeros(0)
    jump = np.flatnonzero(step > JUMP)
    if len(jump) > MOST_LOOKS // 3:
        jump = np.sort(np.argsort(-step, kind="stable")[: MOST_LOOKS // 3])
    # what has widened past a floor ends a layer below it
    ends = [last], jump, jump + 1, np.maximum(jump - 1, 0)
    levels = np.unique(np.concatenate([np.arange(0, last + 1, STRIDE), *ends]))
    every = np.arange(last + 1)
    while len(levels) < MOST_LOOKS:
        straight = np.column_stack([np.interp(every, levels, share[levels, k]) for k in range(2)])
        miss = np.abs(share - straight).max(axis=1)
        if miss.max() <= BEND:
            break
        levels = np.union1d(levels, [int(miss.argmax())])
    return levels.astype(np.int64)


def _looks(
    found: Columns, cut: Sections, walked: Walk, plan: LayerPlan, recipe: Recipe, levels: Index
) -> tuple[Column, tuple[Column, ...]]:
    """Wall, sparse and solid area, lines, and ways to what stands apart, of some layers, (k, 5).

    Beside them the rings of the lowest layer.
    """
    from planner.geometry.planar.polygon import rings_of
    from planner.geometry.planar.regions import beside, region_of

    whole, rims = found.outlines(plan.mid_mm[levels])
    sections = walked.sections_of(cut, levels)
    table = np.zeros((len(levels), 5))
    foot: tuple[Column, ...] = ()
    for q in range(len(levels)):
        part = region_of(sections.section(q), FINE_MM)
        column = beside(region_of(whole.section(q), FINE_MM), part, recipe.support_gap_mm)
        rim = region_of(rims.section(q), FINE_MM)
        table[q] = _filled(column, rim, recipe)
        if levels[q] == 0:
            foot = tuple(rings_of(column))
    return table, foot


def _filled(column: Region, rim: Region, recipe: Recipe) -> tuple[float, float, float, float, float]:
    """How the columns of one layer are filled; what is narrower than a bead is not."""
    from planner.geometry.planar.regions import measures, opened, parted

    pitch = recipe.pitch_mm
    edge = 0.5 * (recipe.bead_width_mm - pitch)
    column = opened(column, 0.5 * recipe.bead_width_mm)
    walls = recipe.support_walls
    whole, around, islands = measures(column)
    roof, rest = parted(column, rim, edge * (walls > 0) + walls * pitch)
    solid, sparse = measures(roof)[0], measures(rest)[0]
    wall = max(0.0, whole - solid - sparse - edge * around) if walls else 0.0
    reached = islands + _strips(roof, pitch)
    return wall, sparse, solid, _lines(rest, sparse, pitch, recipe.support_infill), float(reached)


def _strips(roof: Region, pitch: float) -> int:
    """Strips of a face too narrow for lines: rings fill each, which has a way of its own.

    Source: that they are narrower than four beads: common practice, no source.
    """
    from planner.geometry.planar.regions import measures, shrunk

    if roof.is_empty:
        return 0
    half = 0.5 * STRIP_BEADS * pitch
    wide = shrunk(roof, half).buffer(half + 0.01, join_style="mitre")
    return measures(shrunk(roof.difference(wide), FITS * pitch))[2]


def _lines(region: Region, area: float, pitch: float, infill: float) -> float:
    """Length of lines to and fro over a region, half a bead inside its edge, joined along it.

    Lines lie ``pitch / infill`` apart; every other stretch of the edge between two of them is laid, but
    for the caps beyond the outermost lines.

    Source: geometry; that lines are joined along the edge: common practice, no source.
    """
    from planner.geometry.planar.regions import caps, measures, shrunk

    if infill <= LEAST_FILL or area <= 0.0:
        return 0.0
    apart = pitch / infill
    over, edge = measures(shrunk(region, 0.5 * pitch))[0], shrunk(region, FITS * pitch)
    length = joined_lines(
        np.array(over), np.array(measures(edge)[1]), caps(np.array([edge]), apart)[0], apart
    )
    return min(float(length), area / pitch)
