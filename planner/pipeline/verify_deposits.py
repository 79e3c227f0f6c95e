"""Deposit, make and findings of each part against each other; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator

from planner.model.plan import Plan
from planner.pipeline.makes import recipe_digest

_SLACK_MM = 0.01


def deposit_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each height that its layers do not make, make of another recipe, and finding untold.

    Beds that have begun tell nothing of their parts any more; this holds whether they have or not.
    """
    told = set(plan.findings)
    for part in plan.parts:
        deposit, make = plan.deposits[part.name], plan.makes.get(part.name)
        layer = max(part.recipe.layer_height_mm, part.recipe.first_height_mm)
        top = float(deposit.layers.top_mm[-1]) if len(deposit.layers) else 0.0
        if abs(top - deposit.extents_mm[2]) > layer + _SLACK_MM:
            yield f"{part.name} is told to be {deposit.extents_mm[2]:g} mm high, its layers reach {top:g}"
        if make is not None and make.recipe_sha256 != recipe_digest(part.recipe):
            yield f"{part.name} is told to be made by another recipe than it is"
        if not told.issuperset(deposit.findings):
            yield f"what was found of {part.name} is not told among the findings"
