"""Support that the printer builds, and surfaces that hang in the air without it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.geometry.section import Sections
from planner.model.finding import Finding
from planner.model.recipe import Recipe

Column = NDArray[np.float64]

INTERFACE_LAYERS = 2  # solid layers between support and part (common practice, no source)
MOST_CELLS = 400  # columns across the part
LEAST_CELL_MM = 0.25
LARGE_MM2 = 50.0  # surface in the air below which no finding is worth its line (our choice)


@dataclass(frozen=True, eq=False, slots=True)
class SupportAreas:
    """Area of support in every layer, (n,) mm2: sparse columns, and solid layers on top of them."""

    sparse_mm2: Column
    solid_mm2: Column


def support_areas(cut: Sections, recipe: Recipe) -> SupportAreas:
    """Columns under surfaces flatter than the recipe's angle, down to the bed or the part below.

    Nothing where the recipe has no support or the mesh brings its own.

    Assumes: columns stand as wide as the surface above them; no gap is left to the part.
    """
    n = len(cut.mids)
    if recipe.support != "generated" or cut.overhang <= 0.0:
        return SupportAreas(np.zeros(n), np.zeros(n))
    from planner.geometry.column_kernel import columns

    wide, deep = float(cut.mesh.extents[0]), float(cut.mesh.extents[1])
    cell = max(LEAST_CELL_MM, max(wide, deep) / MOST_CELLS)
    areas = columns(
        cut.mesh.triangles,
        cut.low,
        cut.mids,
        cell,
        int(wide / cell) + 1,
        int(deep / cell) + 1,
        float(np.cos(np.radians(recipe.support_angle_deg))),
        float(cut.mids[0]),
        INTERFACE_LAYERS,
    )
    return SupportAreas(areas[:, 0] - areas[:, 1], areas[:, 1].copy())


def hanging(cut: Sections, recipe: Recipe, about: str) -> list[Finding]:
    """A doubt where much surface looks down, flatter than the recipe's angle, and nothing holds it."""
    if recipe.support == "generated" or cut.overhang < LARGE_MM2:
        return []
    height = cut.overhang_at[2]
    how = "the recipe has no support" if recipe.support == "none" else "only what the mesh brings holds it"
    return [
        Finding(
            about,
            f"{cut.overhang / 100.0:.1f} cm² look down flatter than {recipe.support_angle_deg:g}° from"
            f" {height:.1f} mm up, and {how}: it may sag unless it bridges between walls.",
            "note" if recipe.support == "as modelled" else "doubt",
        )
    ]
