"""The acceleration of each kind of bead on each layer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planner.model.printer import Motion


def own_acceleration(motion: Motion, *given: float | None) -> float:
    """The first that is given, else that of all beads, mm/s2."""
    return next((one for one in given if one is not None), motion.acceleration)


def pulls(layers: int, motion: Motion, *given: float | None) -> NDArray[np.float64]:
    """Of every layer, (n,) mm/s2; the first one is held to that of the first layer."""
    found = np.full(layers, own_acceleration(motion, *given))
    if layers and motion.first_layer_acceleration is not None:
        found[0] = min(found[0], motion.first_layer_acceleration)
    return found
