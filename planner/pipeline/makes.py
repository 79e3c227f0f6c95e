"""How every part of a job is made, in digests that a later plan can compare."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, replace

from planner.model.deposit import Deposit
from planner.model.part import Part, Piece
from planner.model.printed import Make, PrintedPiece
from planner.model.recipe import ACCELERATIONS, SPEEDS, Recipe
from planner.pipeline.job import Job

ROTATION_DIGITS = 9  # as plans tell it
# Names, speeds and accelerations: they change the minutes of a bed, not the piece.
_NOT_THE_PIECE = (
    "name",
    "source",
    *SPEEDS,
    *ACCELERATIONS,
    "least_layer_s",
)
_SINCE = {
    "wall_mm": None,
    "bead": "rounded",
    "nozzle_mm": None,
    "plate": "",
}  # plans made before these keys did not know them


def makes_of(job: Job, parts: Sequence[Part], deposits: Mapping[str, Deposit]) -> dict[str, Make]:
    """The make of each part by its name, in the pose in which it is printed."""
    digests = {mesh: job.meshes[mesh].digest for mesh in {part.mesh for part in parts}}
    return {
        part.name: Make(
            mesh_sha256=digests[part.mesh],
            rotation=tuple(round(v, ROTATION_DIGITS) + 0.0 for v in deposits[part.name].pose.rotation),
            recipe=part.recipe.name,
            recipe_sha256=recipe_digest(part.recipe),
            filament=part.filament,
        )
        for part in parts
    }


def as_printed(
    printed: Mapping[str, PrintedPiece], pieces: Sequence[Piece], makes: Mapping[str, Make]
) -> dict[str, PrintedPiece]:
    """What is printed of these pieces; one of the make of now sits where its part sits now."""
    found: dict[str, PrintedPiece] = {}
    for piece in pieces:
        known = printed.get(piece.name)
        if known is not None:
            same = known.make is not None and not known.make.differs(makes[piece.part])
            found[piece.name] = replace(known, place=None) if same else known
    return found


def recipe_digest(recipe: Recipe) -> str:
    """SHA-256 of all that a recipe says but its name and its speeds."""
    said = {key: value for key, value in asdict(recipe).items() if key not in _NOT_THE_PIECE}
    said = {key: value for key, value in said.items() if key not in _SINCE or value != _SINCE[key]}
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode("utf-8")).hexdigest()
