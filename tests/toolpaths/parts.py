"""Forty parts of every kind, each with the way in which it is printed, to hold estimates against."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from planner.geometry.mesh.mesh import TriangleMesh
from planner.model.recipe import Recipe
from tests import builders
from tests.kits import shapes
from tests.toolpaths.settings import Settings

SOLID: dict[str, Any] = {}
SKIN = {"walls": 1, "top_layers": 0, "bottom_layers": 2, "infill": 0.0, "layer_height_mm": 0.25}
SPIRAL = {**SKIN, "spiral": True}
STOUT = {"walls": 3, "infill": 0.25}
MOUNT = {"walls": 4, "top_layers": 5, "bottom_layers": 5, "infill": 0.4}
FULL = {"infill": 1.0, "walls": 3}
COARSE = {"layer_height_mm": 0.3, "top_layers": 3, "bottom_layers": 3, "infill": 0.08, "bead_width_mm": 0.5}


@dataclass(frozen=True)
class TruePart:
    """A mesh as it stands, and its recipe."""

    name: str
    make: Callable[[], TriangleMesh]
    recipe: dict[str, Any]

    def planned(self) -> Recipe:
        """The recipe of the planner."""
        return Recipe(self.name, **self.recipe)

    def settings(self, **other: Any) -> Settings:
        """The same for the maker of toolpaths."""
        r = self.planned()
        known = {
            "layer": r.layer_height_mm,
            "first": r.first_height_mm,
            "width": r.bead_width_mm,
            "least": r.least_bead_width_mm,
            "walls": r.walls,
            "top": r.top_layers,
            "bottom": r.bottom_layers,
            "infill": r.infill,
            "spiral": r.spiral,
            "brim": r.brim_mm,
            "full": r.bead == "full",
        }
        return Settings(**{**known, **other})


def _kit(solid: shapes.Solid) -> TriangleMesh:
    return builders.moved(shapes.mesh_of(solid), *(0.0, 0.0, 0.0))


def _cavity() -> TriangleMesh:
    hole = builders.inward(builders.box(16, 12, 5, (5, 5, 3)))
    return builders.joined(builders.box(26, 22, 11), hole)


def _two() -> TriangleMesh:
    return builders.joined(builders.box(14, 14, 6), builders.moved(builders.cylinder(12, 9), 40.0, 7.0, 0.0))


def _swept() -> TriangleMesh:
    root, tip = builders.aerofoil(70, 0.12, 40), builders.aerofoil(60, 0.12, 40)
    return builders.lofted(root, tip + np.array([8.0, 0.0]), 12.0)


PARTS: tuple[TruePart, ...] = tuple(
    TruePart(*row)
    for row in (
        ("box", lambda: builders.box(30, 20, 8), SOLID),
        ("box, stout", lambda: builders.box(30, 20, 8), STOUT),
        ("box, solid", lambda: builders.box(24, 16, 5), FULL),
        ("flat plate", lambda: builders.box(60, 40, 1.6), SOLID),
        ("thin plate on edge", lambda: builders.box(60, 2.4, 12), SOLID),
        ("bar 1.9 mm", lambda: builders.box(50, 1.9, 8), SOLID),
        ("post", lambda: builders.box(6, 6, 14), SOLID),
        ("cylinder", lambda: builders.cylinder(30, 8), SOLID),
        ("cylinder, coarse", lambda: builders.cylinder(40, 9), COARSE),
        ("disc", lambda: builders.cylinder(50, 3), STOUT),
        ("cone", lambda: builders.cone(36, 14), SOLID),
        ("flat cone", lambda: builders.cone(44, 8), SOLID),
        ("spinner, skin", lambda: builders.cone(40, 30), SKIN),
        ("frustum", lambda: builders.frustum(34, 20, 9), STOUT),
        ("sphere", lambda: builders.sphere(22), SOLID),
        ("ring", lambda: builders.ring(32, 8), SOLID),
        ("tube 0.45 mm", lambda: builders.tube(40, 39.1, 8), SKIN),
        ("tube 0.35 mm", lambda: builders.tube(30, 29.3, 6), SKIN),
        ("tube 0.8 mm", lambda: builders.tube(40, 38.4, 8), SOLID),
        ("tube 1.0 mm", lambda: builders.tube(40, 38, 8), SOLID),
        ("tube 1.2 mm", lambda: builders.tube(40, 37.6, 8), SOLID),
        ("tube 1.9 mm", lambda: builders.tube(36, 32.2, 8), SOLID),
        ("tube 3 mm", lambda: builders.tube(36, 30, 8), SOLID),
        ("socket, mount", lambda: builders.tube(26, 16, 8), MOUNT),
        ("vase", lambda: builders.cylinder(40, 12), SPIRAL),
        ("cowl, spiral", lambda: builders.frustum(40, 34, 12), SPIRAL),
        ("wing, solid recipe", lambda: builders.aerofoil_slab(90, 8), SOLID),
        ("wing, skin", lambda: builders.aerofoil_slab(120, 10), SKIN),
        ("wing, spiral", lambda: builders.aerofoil_slab(100, 10), SPIRAL),
        ("wing, swept", _swept, SOLID),
        ("wing shell 0.8 mm", lambda: builders.hollow_aerofoil_slab(100, 8, 0.8), SOLID),
        ("wing panel with pins", lambda: _kit(shapes.wing_panel(80, 8, 3.0)), SOLID),
        ("fuselage segment", lambda: _kit(shapes.segment(44, 12, 1.6, 0.0, nose=True)), SOLID),
        ("fuselage segment, skin", lambda: _kit(shapes.segment(50, 12, 1.2, 0.0, nose=False)), SKIN),
        ("rib", lambda: _kit(shapes.rib(100, 2.4)), SOLID),
        ("clip", lambda: _kit(shapes.clip(24, 14, 10)), STOUT),
        ("hinge", lambda: _kit(shapes.hinge(40)), {"infill": 1.0, "top_layers": 3, "bottom_layers": 3}),
        ("motor mount", lambda: _kit(shapes.mount(34, 5)), MOUNT),
        ("box with a cavity", _cavity, SOLID),
        ("two bodies", _two, SOLID),
    )
)  # fmt: skip
