"""Surfaces that hang in the air without support."""

from __future__ import annotations

from planner.geometry.sections.section import Sections
from planner.model.finding import Finding
from planner.model.recipe import Recipe

LARGE_MM2 = 50.0  # surface in the air below which no finding is worth its line (our choice)


def hanging(cut: Sections, recipe: Recipe, unheld_mm2: float, about: str) -> list[Finding]:
    """A doubt where much surface looks down, flatter than the recipe's angle, and nothing holds it.

    ``unheld_mm2`` of it lies over the part itself where support stands on the bed only.
    """
    if recipe.support == "everywhere":
        return []
    if recipe.support == "bed only":
        return _over_itself(recipe, unheld_mm2, about)
    if cut.overhang < LARGE_MM2:
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


def _over_itself(recipe: Recipe, unheld_mm2: float, about: str) -> list[Finding]:
    if unheld_mm2 < LARGE_MM2:
        return []
    return [
        Finding(
            about,
            f"{unheld_mm2 / 100.0:.1f} cm² look down flatter than {recipe.support_angle_deg:g}° over the part"
            ' itself, and support = "bed only" holds none of it: it may sag unless it bridges between walls.',
        )
    ]
