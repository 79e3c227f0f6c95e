"""Small airframes with round numbers, for the tests of mass, balance and cost; all invented."""

from __future__ import annotations

import numpy as np

from planner.geometry.mesh.pose import UPRIGHT, Pose
from planner.model.airframe import Airframe
from planner.model.deposit import Deposit, Layers
from planner.model.filament import Filament
from planner.model.part import Part, Piece, Stack, pieces_of
from planner.model.recipe import Recipe

RECIPE = Recipe("plain")
PLA = Filament("PLA", "polylactic acid", 1.25, 1.25, price_minor=2000, spread_shared=0.03, spread_piece=0.01)
FOAM = Filament("foam", "foaming", 1.2, 0.6, foaming=True, spread_shared=0.06, spread_piece=0.02)
FILAMENTS = {"PLA": PLA, "foam": FOAM}


def deposit(
    name: str,
    mass_g: float,
    height: float = 100.0,
    support_share: float = 0.0,
    centroid: tuple[float, float, float] | None = None,
    in_mesh: tuple[float, float, float] = (0.0, 0.0, 0.0),
    pose: Pose = UPRIGHT,
    extents: tuple[float, float, float] | None = None,
    surface: float = 0.0,
) -> Deposit:
    """One layer of 1000 mm3, of which ``support_share`` is support; its mesh has the printed extents."""
    zero, one = np.zeros(1), np.ones(1)
    layers = Layers(
        top_mm=one * height,
        area_mm2=one,
        perimeter_mm=one,
        wall_mm3=one * 1000.0 * (1.0 - support_share),
        solid_mm3=zero,
        sparse_mm3=zero.copy(),
        support_mm3=one * 1000.0 * support_share,
        path_mm=one.copy(),
    )
    size, middle = extents or (10.0, 10.0, height), centroid or (5.0, 5.0, height / 2.0)
    return Deposit(
        name,
        layers,
        {},
        mass_g,
        1.0,
        pose=pose,
        extents_mm=size,
        centroid_mm=middle,
        centroid_in_mesh_mm=in_mesh,
        surface_mm2=surface,
        mesh_low_mm=(in_mesh[0] - middle[0], in_mesh[1] - middle[1], in_mesh[2] - middle[2]),
        mesh_extents_mm=size,
    )


def part(name: str, filament: str = "PLA", stack: tuple[str, int] | None = None, **more: object) -> Part:
    """A part of section ``body`` unless said otherwise."""
    place = None if stack is None else Stack(*stack)
    section = str(more.pop("section", "body"))
    return Part(name, f"{name}.stl", section, RECIPE, filament, stack=place, **more)  # type: ignore[arg-type]


def airframe(*parts: Part, **more: object) -> Airframe:
    """An airframe of those parts."""
    return Airframe("sample", tuple(parts), **more)  # type: ignore[arg-type]


def pieces(plane: Airframe) -> tuple[Piece, ...]:
    """All pieces of all parts."""
    return tuple(piece for each in plane.parts for piece in pieces_of(each))
