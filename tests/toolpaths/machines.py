"""The speeds of a toolpath from a printer, a recipe and a filament."""

from __future__ import annotations

import numpy as np

from planner.model.filament import Filament
from planner.model.printer import Motion
from planner.model.recipe import Recipe
from tests.toolpaths.seconds import Machine


def machine_of(motion: Motion, recipe: Recipe, filament: Filament) -> Machine:
    """Every kind at what recipe, printer and filament allow at most."""
    most = np.inf if filament.speed_limit_mm_s is None else filament.speed_limit_mm_s
    wall = min(motion.wall_speed, recipe.wall_speed_mm_s or np.inf, most)
    fill = min(motion.fill_speed, recipe.fill_speed_mm_s or np.inf, most)
    asked = recipe.outer_wall_speed_mm_s or recipe.wall_speed_mm_s or np.inf
    outer = min(motion.outer_wall_speed or motion.wall_speed, asked, most)
    asked = recipe.solid_speed_mm_s or recipe.fill_speed_mm_s or np.inf
    solid = min(motion.solid_speed or motion.fill_speed, asked, most)
    asked = recipe.top_speed_mm_s or recipe.solid_speed_mm_s or recipe.fill_speed_mm_s or np.inf
    top = min(motion.top_speed or motion.solid_speed or motion.fill_speed, asked, most)
    asked = recipe.bridge_speed_mm_s or recipe.solid_speed_mm_s or recipe.fill_speed_mm_s or np.inf
    bridge = min(motion.bridge_speed or motion.solid_speed or motion.fill_speed, asked, most)
    every = recipe.acceleration_mm_s2 or np.inf
    lines = recipe.fill_acceleration_mm_s2 or every
    solid_pull = min(
        motion.solid_acceleration or motion.fill_acceleration or motion.acceleration,
        recipe.solid_acceleration_mm_s2 or lines,
    )
    return Machine(
        speed={"": fill, "outer wall": outer, "solid": solid, "top": top, "bridge": bridge}
        | dict.fromkeys(("inner wall", "thin", "brim"), wall),
        acceleration={
            "": min(motion.acceleration, every),
            "sparse": min(motion.fill_acceleration or motion.acceleration, lines),
            **dict.fromkeys(("solid", "top", "bridge"), solid_pull),
            "outer wall": min(
                motion.outer_wall_acceleration or motion.acceleration,
                recipe.outer_wall_acceleration_mm_s2 or every,
            ),
        },
        first_acceleration=min(
            motion.first_layer_acceleration or np.inf, recipe.first_layer_acceleration_mm_s2 or np.inf
        ),
        first=min(motion.first_layer_speed, recipe.first_layer_speed_mm_s or np.inf),
        travel=motion.travel_speed,
        travel_acceleration=motion.travel_acceleration,
        deviation=motion.corner_deviation,
        retract=motion.retract_s,
        change=motion.layer_change_s,
        flow=filament.flow_limit_mm3_s / filament.flow_fraction / recipe.flow_trim,
    )
