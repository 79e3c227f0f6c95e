"""What an earlier plan remembers of parts, pieces and filaments, read back."""

from __future__ import annotations

import math

from planner.io.results.plan_node import Node
from planner.model.budget import Place
from planner.model.printed import Make, PrintedPiece
from planner.model.replan import EarlierFilament, EarlierPart

NUMBERS_OF_A_POSE = 9


def earlier_part(node: Node) -> EarlierPart:
    """A part as the plan knew it; plans of old do not tell its make."""
    filament, recipe = node.text("filament"), node.text("recipe")
    make = _make(node, node.node("pose"), filament, recipe) if _tells(node) else None
    return EarlierPart(filament, recipe, node.number("mass_g"), make)


def printed_piece(node: Node) -> PrintedPiece:
    """A piece that was printed, or being printed, as it was made."""
    filament, recipe = node.text("filament"), node.text("recipe")
    return PrintedPiece(
        piece=node.text("piece"),
        batch=node.text("bed"),
        make=_make(node, node, filament, recipe) if _tells(node) else None,
        mass_g=node.number("mass_g"),
        flying_g=node.number("flying_g"),
        filament=filament,
        recipe=recipe,
        place=_place(node),
    )


def weights(mass: Node) -> dict[str, tuple[float, Place | None]]:
    """What each printed piece flies with, and where, by its name."""
    return {
        node.text("what"): (node.number("mass_g"), _place(node))
        for node in mass.nodes("items")
        if node.text("kind") == "printed"
    }


def earlier_filament(node: Node) -> tuple[str, EarlierFilament]:
    """A filament by its name."""
    return node.text("filament"), EarlierFilament(node.number("deposited_g_per_cm3"), node.number("nozzle_c"))


def _tells(node: Node) -> bool:
    return node.value.get("mesh_sha256") is not None


def _make(node: Node, pose: Node, filament: str, recipe: str) -> Make:
    rotation = pose.items("rotation")
    good = all(isinstance(v, (int, float)) and math.isfinite(v) for v in rotation)
    if len(rotation) != NUMBERS_OF_A_POSE or not good:
        pose.refuse("rotation", rotation, "nine numbers")
    numbers = tuple(float(v) for v in rotation)
    return Make(node.text("mesh_sha256"), numbers, recipe, node.text("recipe_sha256"), filament)


def _place(node: Node) -> Place | None:
    station = node.optional_signed("station_mm")
    if station is None:
        return None
    return Place(
        station, node.optional_signed("across_mm"), node.optional_signed("up_mm"), "as it was printed"
    )
