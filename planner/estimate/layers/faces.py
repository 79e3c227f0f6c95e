"""What of the solid layers are top layers and bridges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.estimate.layers.solid_layers import MARGIN, cover
from planner.estimate.layers.walk import TORN_PATH, Walk, WallRule
from planner.geometry.sections.section import Sections
from planner.model.recipe import Recipe

Column = NDArray[np.float64]

WHOLE = 0.999  # infill from which a layer of lines bears as a solid one does


@dataclass(frozen=True, eq=False, slots=True)
class Faces:
    """Shares (n,) of the free inside of every layer that are top layers and bridges.

    ``top_edge``, ``bridge_edge`` and ``rest_edge`` (n,) are the outlines of both, and of what is solid
    besides, over that of the inside; they mean something where there are faces only.
    """

    top: Column
    bridge: Column
    top_edge: Column
    bridge_edge: Column
    rest_edge: Column

    @property
    def any(self) -> bool:
        """Whether there are some."""
        return bool(self.top.any() or self.bridge.any())


def no_faces(n: int) -> Faces:
    """Where nobody asks, or nothing is solid."""
    return Faces(*(np.zeros(n) for _ in range(5)))


def faces(cut: Sections, walked: Walk, rule: WallRule, recipe: Recipe) -> Faces:
    """Top layers and bridges, layer by layer.

    Solid, with nothing of the part right above: top. Solid, with nothing of the part or only sparse lines
    right below: a bridge, also where nothing lies above it. What is narrower than a bead is neither: its
    neighbours bear it. Only layers beside a surface that runs far enough sideways are looked at, each of
    them.
    """
    from planner.geometry.sections import face_kernel as kernel

    n = len(cut.mids)
    above, below = min(recipe.top_layers, n), min(recipe.bottom_layers, n)
    wanted = _beside(cut, rule, recipe, above, below)
    tangled = bool(cut.torn.any()) and float(cut.perimeter.sum()) > TORN_PATH
    if tangled or not len(wanted):
        return no_faces(n)
    args = cover(cut, walked, rule, wanted, above, below, deeper=1)
    table = kernel.faces(*args, recipe.infill < WHOLE)
    for kind in (kernel.TOP, kernel.AIR, kernel.LINES):
        # mean width of an area from its mean chord, as of strips of solid (Source: Cauchy's formula)
        wide = 2.0 / np.pi * table[:, kind] / (args[-2] * np.maximum(table[:, kind + 1], 1.0))
        small = wide < MARGIN * rule.pitch_mm
        table[small, kernel.REST : kernel.REST + 2] += table[small, kind : kind + 2]
        table[small, kind : kind + 2] = 0.0
    inside = np.where(table[:, kernel.REGION] > 0.0, table[:, kernel.REGION], np.inf)
    across = np.maximum(table[:, kernel.REGION_COUNT], 1.0)
    found = no_faces(n)
    found.top[wanted] = table[:, kernel.TOP] / inside
    found.top_edge[wanted] = table[:, kernel.TOP_COUNT] / across
    found.bridge[wanted] = (table[:, kernel.AIR] + table[:, kernel.LINES]) / inside
    found.bridge_edge[wanted] = (table[:, kernel.AIR_COUNT] + table[:, kernel.LINES_COUNT]) / across
    found.rest_edge[wanted] = table[:, kernel.REST_COUNT] / across
    return found


def _beside(cut: Sections, rule: WallRule, recipe: Recipe, above: int, below: int) -> NDArray[np.int64]:
    """Layers beside a surface that runs further sideways than walls, or a bead, are wide.

    The lowest solid layer under a surface lies ``above`` layers below it and reaches over the lines on its
    strip by as much as the surface runs in one layer.
    """
    n = len(cut.mids)
    run = cut.runs * recipe.layer_height_mm
    depth = MARGIN * (rule.rim_mm * (rule.counts > 0) + rule.counts * rule.pitch_mm)
    level, pick = np.arange(n), np.zeros(n, dtype=bool)
    if above:
        pick |= (run[1:, 0] > depth) | (level == n - 1)
        ahead = run[np.minimum(level + above, n), 0]
        pick |= (recipe.infill < WHOLE) & ((ahead > MARGIN * rule.pitch_mm) | (level + above == n))
    if below:
        pick[1:] |= run[1:n, 1] > depth[1:]
    return np.flatnonzero(pick)
