"""Heights of the layers that a recipe makes of a part."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from planner.model.recipe import Recipe

Column = NDArray[np.float64]

_SAME_HEIGHT = 1e-6  # mm: a part that ends this close to a mid-plane counts as ending below it


@dataclass(frozen=True, eq=False, slots=True)
class LayerPlan:
    """Heights of the layers, lowest first.

    Parameters
    ----------
    height_mm, top_mm, mid_mm : (n,) height of each layer, of its upper face, of its mid-plane
    """

    height_mm: Column
    top_mm: Column
    mid_mm: Column

    def __len__(self) -> int:
        return len(self.height_mm)


def layer_plan(part_height_mm: float, recipe: Recipe) -> LayerPlan:
    """Layers whose mid-plane lies inside the part; at least one.

    A part lower than half a first layer still gets that layer, cut at half the part's height.
    """
    first, step = recipe.first_height_mm, recipe.layer_height_mm
    more = int(np.ceil((part_height_mm - _SAME_HEIGHT - first) / step - 0.5))
    count = 1 + max(0, more)
    height = np.full(count, step)
    height[0] = first
    top: Column = first + step * np.arange(count, dtype=np.float64)
    mid = top - 0.5 * height
    mid[0] = min(mid[0], 0.5 * part_height_mm)
    return LayerPlan(height, top, mid)
