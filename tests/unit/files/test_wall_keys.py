"""How thick a wall is: by the bead's width or by the wall, with round ends or without."""

from __future__ import annotations

import math

import pytest

from planner.actions.tables import table_text
from planner.errors import RecordError
from planner.files.builtin import builtin_recipes
from planner.files.record import Record
from planner.files.toml_file import parse_toml
from planner.files.workshop_record import read_recipe
from planner.model.recipe import Recipe
from tests import builders
from tests.estimates import deposit_of

SKIN = {"layer_height_mm": 0.25, "walls": 1, "top_layers": 0, "bottom_layers": 0, "infill": 0.0}


def recipe(text: str) -> Recipe:
    """A recipe from its lines."""
    file = parse_toml(f"[recipe.own]\n{text}", "airframe.toml")
    table = Record(file, file.values["recipe"]["own"], ("recipe", "own"), "recipe own")
    return read_recipe(table, "own", builtin_recipes())


@pytest.mark.parametrize(
    ("keys", "thick"),
    [
        ({"bead_width_mm": 0.4}, 0.4 - 0.25 * (1.0 - math.pi / 4.0)),
        ({"bead_width_mm": 0.4, "bead": "full"}, 0.4),
        ({"wall_mm": 0.4}, 0.4),
        ({"wall_mm": 0.4, "bead": "full"}, 0.4),
    ],
)
def test_skin_of_one_wall(keys, thick):
    """A box of one wall, no infill: centre lines times mean thickness times height."""
    own = Recipe("own", **SKIN, **keys)
    deposit = deposit_of(builders.box(60, 60, 5.0), **SKIN, **keys)
    line = 4.0 * (60.0 - own.bead_width_mm)
    assert deposit.volume_mm3 == pytest.approx(20 * 0.25 * thick * line, rel=0.001)
    assert own.pitch_mm == pytest.approx(thick)


def test_keys_of_a_file():
    """``wall_mm`` and ``bead`` are read; a width of one's own replaces a wall taken over."""
    assert recipe('wall_mm = 0.4\nlike = "skin"').bead_width_mm == pytest.approx(0.45365, abs=1e-5)
    assert recipe('wall_mm = 0.4\nbead = "full"\nlike = "skin"').bead_width_mm == 0.4
    assert recipe('bead_width_mm = 0.5\nlike = "skin"').wall_mm is None


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("wall_mm = 0.4\nbead_width_mm = 0.45", "twice"),
        ("wall_mm = 0.1\nlayer_height_mm = 0.25", "wall_mm"),
        ('bead = "round"', "bead"),
    ],
)
def test_refused(text, told):
    """Both at once, a wall thinner than a bead can be, an unknown bead."""
    with pytest.raises(RecordError, match=told):
        recipe(text)


def test_table_draws_the_bead():
    """The numbers of the table's words are those of the model, and it fits a terminal."""
    lines = table_text("recipes").splitlines()
    assert "0.346 mm, 13 % less" in " ".join(lines)
    assert max(len(line) for line in lines[-20:]) <= 80
