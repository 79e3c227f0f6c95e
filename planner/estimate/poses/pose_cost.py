"""What it costs to print a part standing on one of its faces: cheap measures that rank poses."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.mesh.pose import Pose
from planner.geometry.mesh.resting import FLAT_DEG, FOOT_DEPTH, Facets, Foot, widths
from planner.geometry.planar import polygon
from planner.model.printer import Motion, Printer
from planner.model.recipe import Recipe
from planner.units import MM3_PER_CM3, SECONDS_PER_MINUTE

Vector = NDArray[np.float64]

# Weights of one pose against another: our choice, stated so that it can be argued with.
MINUTES_PER_SUPPORT_CM3 = 1.0  # to break off and clean up after a cubic centimetre of support column
MINUTES_PER_LAID_CM3 = 5.0  # the same by what is laid, walls and lines, about a fifth of its column
MINUTES_PER_FULL_BED = 60.0  # what a part takes from its neighbours when it covers a whole bed
SLENDER = 8.0  # height over foot radius from which a part is likely to be knocked over
_FLAT = 0.9  # |nz| from which a facet is covered by top or bottom layers
_TURNS_DEG = np.arange(0.0, 180.0, 1.0)


@dataclass(frozen=True, slots=True)
class Standing:
    """One way to stand; ``support_mm3`` is the room under steep overhangs, ``missing`` what does not fit.

    ``laid_mm3`` is the support that is laid, and ``minutes`` are those of the whole part, where these were
    reckoned; else ``minutes`` are a proxy.
    """

    pose: Pose
    fits: bool
    missing: str
    foot_mm2: float
    foot_radius_mm: float
    height_mm: float
    footprint_mm2: float
    support_mm3: float
    minutes: float
    bed_share: float
    laid_mm3: float | None = None

    @property
    def cost(self) -> float:
        """Minutes, with support, bed area and slenderness turned into minutes; lower is better."""
        clean_up = MINUTES_PER_SUPPORT_CM3 * self.support_mm3 / MM3_PER_CM3
        if self.laid_mm3 is not None:
            clean_up = MINUTES_PER_LAID_CM3 * self.laid_mm3 / MM3_PER_CM3
        slender = self.height_mm / max(self.foot_radius_mm, 0.1) / SLENDER
        return (self.minutes + clean_up + MINUTES_PER_FULL_BED * self.bed_share) * max(1.0, min(slender, 3.0))


def standing(
    body: Facets, under: Foot, pose: Pose, rim: Vector, recipe: Recipe, printers: Sequence[Printer]
) -> Standing:
    """Measure the body in a pose; ``rim`` holds its outermost points seen from above."""
    up = pose.matrix[2]
    heights = body.corners @ up
    low, height = float(heights.min()), float(np.ptp(heights))
    support = overhang_room(body, up, low, recipe)
    footprint = float(np.prod(widths(rim, np.zeros(1))[0]))
    fits = [fit_on(printer, rim, height, recipe.brim_mm) for printer in printers]
    motion = printers[0].motion if printers else Motion()
    bed = min((p.bed.width_mm * p.bed.depth_mm for p in printers), default=np.inf)
    return Standing(
        pose,
        any(good for good, _ in fits) or not fits,
        fits[0][1] if fits and not any(good for good, _ in fits) else "",
        under.area,
        under.radius,
        height,
        footprint,
        support,
        proxy_minutes(body, up, height, support, recipe, motion),
        footprint / bed,
    )


def overhang_room(body: Facets, up: Vector, low: float, recipe: Recipe) -> float:
    """Volume of the columns from the bed to facets flatter than the recipe's angle, mm3.

    Source: geometry, projected area times height. Assumes: columns reach the bed; those that would
    end on the part itself are counted whole.
    """
    slope = body.normals @ up
    heights = body.middles @ up - low
    hanging = (slope < -np.cos(np.radians(recipe.support_angle_deg))) & (heights > FOOT_DEPTH)
    return float((-slope[hanging] * body.areas[hanging] * heights[hanging]).sum())


def proxy_minutes(
    body: Facets, up: Vector, height: float, support_mm3: float, recipe: Recipe, motion: Motion
) -> float:
    """Minutes that tell poses apart: walls by upright area, covers by flat area, support, layer changes.

    Source: geometry. The bead length of a wall over all layers is the upright share of the surface
    over the layer height. What fills the inside is alike in all poses and is left out.
    """
    slope = np.abs(body.normals @ up)
    upright = float((body.areas * np.sqrt(np.maximum(1.0 - slope**2, 0.0))).sum())
    flat = float((body.areas * slope)[slope > _FLAT].sum())
    walls_mm = recipe.walls * upright / recipe.layer_height_mm
    covers_mm = (recipe.top_layers + recipe.bottom_layers) / 2.0 * flat / recipe.bead_width_mm
    props = recipe.support_infill * support_mm3 / (recipe.bead_width_mm * recipe.layer_height_mm)
    wall_speed = recipe.wall_speed_mm_s or motion.wall_speed
    fill_speed = recipe.fill_speed_mm_s or motion.fill_speed
    changes = height / recipe.layer_height_mm * motion.layer_change_s
    return (walls_mm / wall_speed + (covers_mm + props) / fill_speed + changes) / SECONDS_PER_MINUTE


def fit_on(printer: Printer, rim: Vector, height: float, brim_mm: float) -> tuple[bool, str]:
    """Whether a part of this rim and height fits the bed with some turn, and what is missing."""
    short = height - printer.clear_height_mm
    if short > 1e-6:
        return False, f"{short:.1f} mm too tall for {printer.kind}"
    bed = printer.bed
    room = np.array([bed.width_mm, bed.depth_mm]) - 2.0 * bed.margin_mm - 2.0 * brim_mm
    if bed.shape == "round":
        around = 2.0 * float(np.hypot(*(rim - 0.5 * (rim.min(axis=0) + rim.max(axis=0))).T).max())
        excess = (
            min(around, 2.0 * polygon.enclosing_circle(rim)[1]) - float(room[0]) if around > room[0] else 0.0
        )
    else:
        excess = float((widths(rim, _TURNS_DEG) - room).max(axis=1).min())
    if excess > 1e-6:
        return False, f"{excess:.1f} mm too wide for {printer.kind}"
    return True, ""


def one_face(cosine: float) -> bool:
    """Whether two directions are one face to `resting_feet`."""
    return bool(cosine > np.cos(np.radians(FLAT_DEG)))
