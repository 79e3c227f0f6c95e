"""From sections to areas: walls, what they leave free, solid and sparse, support and brim, layer by layer."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.faces import Faces, faces, no_faces
from planner.estimate.layers.first_layer import Brim, brim, slender
from planner.estimate.layers.hanging import hanging
from planner.estimate.layers.layers import LayerPlan
from planner.estimate.layers.open_sections import closed_over, inside_out, mended
from planner.estimate.layers.solid_layers import Solids, solids
from planner.estimate.layers.spiral import spiral_rule
from planner.estimate.layers.support import SupportAreas, support_areas
from planner.estimate.layers.thin import thin_walls
from planner.estimate.layers.walk import Walk, WallRule, between, walk
from planner.geometry.sections.section import Sections
from planner.model.finding import Finding
from planner.model.part import Part
from planner.model.recipe import Recipe

Column = NDArray[np.float64]


@dataclass(frozen=True, eq=False, slots=True)
class LayerAreas:
    """Areas and lengths of all layers, before they become a deposit.

    Parameters
    ----------
    cut, plan, recipe, walked : what they were made from; the measures of ``cut`` are mended
    wall_mm2, path_mm : (n,) area that wall beads cover, and the length of their centre lines
    inner_mm2, inner_mm : (n,) area that walls leave free, and the length of its outline
    core_mm2, core_mm : (n,) area and outline of it moved in by half a bead
    depth_mm : (n,) how deep inside the outline it begins
    solid_mm2 : (n,) the part of it that is filled without gaps
    infill : (n,) fraction of the rest that is filled
    spiral : (n,) layers that are one climbing bead
    solids, faces, support, brim : as found
    findings : doubts and faults met on the way
    """

    cut: Sections
    plan: LayerPlan
    recipe: Recipe
    walked: Walk
    wall_mm2: Column
    path_mm: Column
    inner_mm2: Column
    inner_mm: Column
    core_mm2: Column
    core_mm: Column
    depth_mm: Column
    solid_mm2: Column
    infill: Column
    spiral: NDArray[np.bool_]
    solids: Solids
    faces: Faces
    support: SupportAreas
    brim: Brim
    findings: tuple[Finding, ...]


def layer_areas(
    cut: Sections, plan: LayerPlan, part: Part, grams_per_mm3: float, apart: bool = False
) -> LayerAreas:
    """Areas of all layers of a part as its recipe fills them; ``grams_per_mm3`` of what is laid down.

    Top layers and bridges are told ``apart`` from other solid ones only if somebody asks.
    """
    from planner.geometry.sections import band_kernel as kernel

    n, recipe = len(plan), part.recipe
    rule, walked, spiral, found = _walked(cut, plan, recipe, part)
    signed = cut.area
    cut = mended(cut, walked)
    area, perimeter = cut.area, cut.perimeter

    def of_area(column: int) -> Column:
        return between(walked.layers, walked.table[:, column] / _over(walked.area), n) * area

    def of_outline(column: int) -> Column:
        return between(walked.layers, walked.table[:, column] / _over(walked.perimeter), n) * perimeter

    inner = np.clip(of_area(kernel.INNER), 0.0, area)
    rim = np.where(rule.counts > 0, rule.rim_mm, 0.0)
    wall = area - rim * (perimeter - of_outline(kernel.THIN_LENGTH)) - inner - of_area(kernel.THIN)
    if spiral.any():
        whole = np.where(spiral, 0.0, 1.0)
        solid, infill = Solids(whole, cut.middle, np.ones(n), np.ones(n), whole), 0.0
        sides = no_faces(n)
    else:
        heights = recipe.top_layers, recipe.bottom_layers, recipe.layer_height_mm
        solid, infill = solids(cut, walked, rule, *heights), recipe.infill
        sides = faces(cut, walked, rule, recipe) if apart else no_faces(n)
    first = walked.rings.section(0)
    support = support_areas(cut, walked, plan, recipe)
    return LayerAreas(
        cut=cut,
        plan=plan,
        recipe=recipe,
        walked=walked,
        wall_mm2=np.where(rule.counts > 0, np.maximum(wall, 0.0), 0.0),
        path_mm=of_outline(kernel.PATH),
        inner_mm2=inner,
        inner_mm=of_outline(kernel.INNER_LENGTH),
        core_mm2=np.clip(of_area(kernel.CORE), 0.0, inner),
        core_mm=of_outline(kernel.CORE_LENGTH),
        depth_mm=rim + rule.counts * rule.pitch_mm,
        solid_mm2=solid.share * inner,
        infill=np.full(n, infill),
        spiral=spiral,
        solids=solid,
        faces=sides,
        support=support,
        brim=brim(first, recipe.brim_mm),
        findings=(
            *found,
            *thin_walls(cut, walked, plan, part, grams_per_mm3),
            *hanging(cut, recipe, support.unheld_mm2, part.mesh),
            *slender(first, float(cut.mesh.extents[2]), recipe.brim_mm, part.mesh),
            *closed_over(walked, plan.mid_mm, part.mesh),
            *(inside_out(signed, plan.mid_mm, part.mesh) if cut.watertight else ()),
        ),
    )


def _over(measure: Column) -> Column:
    """A measure to divide by; nothing is in proportion to nothing."""
    return np.where(measure > 0.0, measure, np.inf)


def _walked(
    cut: Sections, plan: LayerPlan, recipe: Recipe, part: Part
) -> tuple[WallRule, Walk, NDArray[np.bool_], list[Finding]]:
    """Walk the walls as the recipe asks, or as plain walls where a spiral cannot be."""
    n, found = len(plan), list[Finding]()
    pitch = recipe.pitch_mm
    rim, narrow = 0.5 * (recipe.bead_width_mm - pitch), 0.5 * recipe.least_bead_width_mm
    if recipe.spiral:
        counts, spiral = spiral_rule(n, recipe)
        rule = WallRule(counts, rim, pitch, narrow)
        walked = walk(cut, rule, every=1)
        torn_apart = spiral[walked.layers] & (walked.rings.rings != 1)
        if not torn_apart.any():
            return rule, walked, spiral, found
        q = int(torn_apart.argmax())
        found.append(
            Finding(
                part.mesh,
                f"cannot be printed as a spiral: at {plan.mid_mm[walked.layers[q]]:.1f} mm the section has"
                f" {walked.rings.rings[q]} outlines instead of one. It was reckoned with plain walls.",
                "fault",
            )
        )
    walls = max(1, recipe.walls) if recipe.spiral else recipe.walls
    rule = WallRule(np.full(n, walls, dtype=np.int64), rim, pitch, narrow)
    return rule, walk(cut, rule), np.zeros(n, dtype=bool), found
