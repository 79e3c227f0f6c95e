"""Spiral parts: bottom layers as usual, then one closed bead on the outline."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.model.recipe import Recipe


def spiral_rule(layers: int, recipe: Recipe) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Walls of each layer, and which layers climb as one bead.

    The bottom layers carry the recipe's walls and are solid; above them is one bead, no top and no
    infill. A section with more than one ring cannot be spiral; who walks the rings must see to it.
    """
    climbs = np.arange(layers) >= recipe.bottom_layers
    return np.where(climbs, 1, max(1, recipe.walls)).astype(np.int64), climbs
