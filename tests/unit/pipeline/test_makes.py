"""What makes two pieces alike: mesh, pose, recipe and filament, and nothing that changes minutes only."""

from __future__ import annotations

from dataclasses import fields, replace
from types import SimpleNamespace
from typing import Any

import pytest

from planner.geometry.mesh.pose import Pose
from planner.model.budget import Place
from planner.model.part import Part, pieces_of
from planner.model.printed import PrintedPiece
from planner.model.recipe import ACCELERATIONS, SPEEDS, Recipe
from planner.pipeline import makes
from planner.pipeline.makes import as_printed, makes_of
from tests.builders import box, moved
from tests.sample_workshop import SKIN

PART = Part("fin", "fin.stl", "tail", SKIN, "PLA", copies=2)


def made(part: Part = PART, mesh: Any = None, rotation: tuple[float, ...] | None = None) -> Any:
    pose = Pose() if rotation is None else SimpleNamespace(rotation=rotation)
    job: Any = SimpleNamespace(meshes={"fin.stl": box(1.0, 2.0, 3.0) if mesh is None else mesh})
    deposits: Any = {"fin": SimpleNamespace(pose=pose)}
    return makes_of(job, [part], deposits)["fin"]


def test_the_same_is_the_same() -> None:
    """A mesh that is read again, and a turn that differs beyond nine digits."""
    assert made() == made(mesh=box(1.0, 2.0, 3.0))
    assert made().mesh_sha256 == box(1.0, 2.0, 3.0).digest
    assert (made().recipe, made().filament) == ("skin", "PLA")
    nearly = (1.0, 1e-10, -1e-10, 0.0, 1.0, 0.0, 0.0, -0.0, 1.0)
    assert made(rotation=nearly) == made()
    assert all(str(value) != "-0.0" for value in made(rotation=nearly).rotation)


@pytest.mark.parametrize(
    ("other", "word"),
    [
        (lambda: made(mesh=moved(box(1.0, 2.0, 3.0), x=1e-6)), "mesh"),
        (lambda: made(rotation=(1.0, 0.0, 0.0, 0.0, 0.0, -1.0, 0.0, 1.0, 0.0)), "pose"),
        (lambda: made(replace(PART, recipe=replace(SKIN, walls=2))), "recipe"),
        (lambda: made(replace(PART, filament="ASA")), "filament"),
    ],
)
def test_what_differs_is_told(other: Any, word: str) -> None:
    assert made().differs(other()) == (word,)


def test_names_speeds_and_accelerations_do_not_make_another_piece() -> None:
    """They change the minutes of a bed only."""
    digest = makes.recipe_digest(SKIN)
    for key in ("name", "source"):
        assert makes.recipe_digest(replace(SKIN, **{key: "other"})) == digest
    for key in (*SPEEDS, *ACCELERATIONS, "least_layer_s"):
        assert makes.recipe_digest(replace(SKIN, **{key: 17.0})) == digest, key


CHANGES: dict[str, Any] = {
    "layer_height_mm": 0.15, "bead_width_mm": 0.6, "walls": 4, "top_layers": 7, "bottom_layers": 7,
    "infill": 0.33, "brim_mm": 2.0, "wall_mm": 0.5, "support": "bed only",
}  # fmt: skip


@pytest.mark.parametrize("key", CHANGES)
def test_whatever_lays_down_otherwise_is_another_recipe(key: str) -> None:
    assert key in {one.name for one in fields(Recipe)}
    other = replace(SKIN, **{key: CHANGES[key]})
    assert makes.recipe_digest(other) != makes.recipe_digest(SKIN)


def test_keys_of_later_do_not_change_the_digests_of_before() -> None:
    """Where they say what was meant all along; a plan of before goes on."""
    assert SKIN.wall_mm is None
    assert SKIN.bead == "rounded"
    said = {one.name for one in fields(Recipe)} - set(makes._NOT_THE_PIECE) - set(makes._SINCE)
    import hashlib
    import json
    from dataclasses import asdict

    plain = json.dumps({key: value for key, value in asdict(SKIN).items() if key in said}, sort_keys=True)
    assert makes.recipe_digest(SKIN) == hashlib.sha256(plain.encode()).hexdigest()


def test_a_piece_of_the_make_of_now_sits_where_its_part_sits_now() -> None:
    """One of another make, or of none that is known, stays where it was planned."""
    place, make = Place(10.0, 0.0, 0.0), made()
    first, second = pieces_of(PART)
    same = PrintedPiece(first.name, "bed 1", make, 3.0, 3.0, "PLA", "skin", place)
    other = replace(same, piece=second.name, make=replace(make, filament="ASA"))
    found = as_printed({first.name: same, second.name: other, "gone": same}, [first, second], {"fin": make})
    assert found == {first.name: replace(same, place=None), second.name: other}
    unknown = {first.name: replace(same, make=None)}
    assert as_printed(unknown, [first, second], {"fin": make}) == unknown
