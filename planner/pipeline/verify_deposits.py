"""Deposit, make and findings of each part against each other; shares no code with the search."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product

from planner.model.deposit import Deposit
from planner.model.plan import Plan
from planner.pipeline.makes import recipe_digest

_SLACK_MM = 0.01
Point = tuple[float, float, float]


def deposit_faults(plan: Plan) -> Iterator[str]:
    """One sentence for each height or place that is not of layers and mesh, other recipe, and finding untold.

    Beds that have begun tell nothing of their parts any more; this holds whether they have or not.
    """
    told = set(plan.findings)
    for part in plan.parts:
        deposit, make = plan.deposits[part.name], plan.makes.get(part.name)
        layer = max(part.recipe.layer_height_mm, part.recipe.first_height_mm)
        top = float(deposit.layers.top_mm[-1]) if len(deposit.layers) else 0.0
        if abs(top - deposit.extents_mm[2]) > layer + _SLACK_MM:
            yield f"{part.name} is told to be {deposit.extents_mm[2]:g} mm high, its layers reach {top:g}"
        if not _stands_as_told(deposit):
            yield f"{part.name} is told to stand otherwise than its mesh does, turned as it is"
        if make is not None and make.recipe_sha256 != recipe_digest(part.recipe):
            yield f"{part.name} is told to be made by another recipe than it is"
        if not told.issuperset(deposit.findings):
            yield f"what was found of {part.name} is not told among the findings"


def _stands_as_told(deposit: Deposit) -> bool:
    """Whether extents and centroid of the standing piece are those of its mesh, turned.

    The box of the mesh, turned, holds the piece: square turns say just where it lies, others a range.
    Source: geometry.
    """
    if not any(deposit.mesh_extents_mm):
        return True
    sides = [
        (low, low + wide) for low, wide in zip(deposit.mesh_low_mm, deposit.mesh_extents_mm, strict=True)
    ]
    corners = [_turned(deposit.pose.rotation, corner) for corner in product(*sides)]
    middle = _turned(deposit.pose.rotation, deposit.centroid_in_mesh_mm)
    for axis in range(3):
        along = [corner[axis] for corner in corners]
        room = max(along) - min(along) - deposit.extents_mm[axis]
        shift = middle[axis] - min(along) - deposit.centroid_mm[axis]
        if not -_SLACK_MM <= shift <= room + _SLACK_MM:
            return False
    return True


def _turned(rotation: Sequence[float], point: Sequence[float]) -> Point:
    x, y, z = (sum(rotation[3 * row + k] * point[k] for k in range(3)) for row in range(3))
    return x, y, z
