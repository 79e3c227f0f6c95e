"""The acceleration of each kind of bead on each layer."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.model.printer import ACCELERATIONS, Motion
from planner.model.recipe import Recipe


def asked(recipe: Recipe, motion: Motion) -> Motion:
    """The motion with the accelerations that hold for a recipe: the lower of its own and the printer's.

    On both sides a kind that has none follows: solid layers and support the fills, all kinds all beads.
    """
    own = {name: getattr(recipe, f"{name}_mm_s2") for name in ("acceleration", *ACCELERATIONS)}
    if all(value is None for value in own.values()):
        return motion
    held: dict[str, Any] = {"acceleration": _lower(own["acceleration"], motion.acceleration)}
    for name in ACCELERATIONS:
        line = {"first_layer_acceleration": (name,), "outer_wall_acceleration": (name, "acceleration")}.get(
            name, (name, "fill_acceleration", "acceleration")
        )
        held[name] = _lower(
            next((own[key] for key in line if own[key] is not None), None),
            next((getattr(motion, key) for key in line if getattr(motion, key) is not None), None),
        )
    return replace(motion, **held)


def _lower(one: float | None, other: float | None) -> float | None:
    given = [value for value in (one, other) if value is not None]
    return min(given, default=None)


def own_acceleration(motion: Motion, *given: float | None) -> float:
    """The first that is given, else that of all beads, mm/s2."""
    return next((one for one in given if one is not None), motion.acceleration)


def pulls(layers: int, motion: Motion, *given: float | None) -> NDArray[np.float64]:
    """Of every layer, (n,) mm/s2; the first one is held to that of the first layer."""
    found = np.full(layers, own_acceleration(motion, *given))
    if layers and motion.first_layer_acceleration is not None:
        found[0] = min(found[0], motion.first_layer_acceleration)
    return found
