"""Speeds and accelerations of recipes and printers: every key is read, nonsense refused by its line."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import pytest

from planner.errors import RecordError
from planner.io.records.builtin import builtin_printers, builtin_recipes
from planner.io.records.record import Record
from planner.io.records.workshop_record import read_printers, read_recipe
from planner.io.toml_file import parse_toml
from planner.model import printer, recipe
from planner.pipeline.makes import recipe_digest

DOCS = Path(__file__).resolve().parents[3] / "docs"
OF_RECIPES = (*recipe.SPEEDS, *recipe.ACCELERATIONS)
OF_PRINTERS = (*printer.OWN_SPEEDS, *printer.ACCELERATIONS)
NONSENSE = ("0", "-20", '"fast"', "1e9", "nan")


def read_own(text: str) -> recipe.Recipe:
    """A recipe from its lines."""
    file = parse_toml(f'[recipe.own]\nlike = "plain"\n{text}', "airframe.toml")
    table = Record(file, file.values["recipe"]["own"], ("recipe.own", 0), "recipe.own")
    return read_recipe(table, "own", builtin_recipes())


def read_machine(text: str, before: str = "") -> printer.Printer:
    """A printer from the lines of its motion, and those before them."""
    file = parse_toml(
        f'[[printer]]\nname = "x"\nlike = "desktop 220"\n{before}[printer.motion]\n{text}', "workshop.toml"
    )
    table = Record(file, file.values["printer"][0], ("printer", 0), "printer")
    return read_printers(table, builtin_printers(), "EUR")[0]


@pytest.mark.parametrize("key", OF_RECIPES)
def test_recipes(key):
    """Taken as written; refused with the line and the key; in the table of keys; no other piece by it."""
    own = read_own(f"{key} = 35\n")
    assert getattr(own, key) == 35.0
    for value in NONSENSE:
        with pytest.raises(RecordError, match=key) as refused:
            read_own(f"{key} = {value}\n")
        assert "line 3" in str(refused.value)
    assert f"| `{key}` |" in (DOCS / "recipes.md").read_text(encoding="utf-8")
    assert recipe_digest(own) == recipe_digest(read_own(""))


@pytest.mark.parametrize("key", OF_PRINTERS)
def test_printers(key):
    """Taken as written; refused with the line and the key; in the table of keys."""
    assert getattr(read_machine(f"{key} = 35\n").motion, key) == 35.0
    for value in NONSENSE:
        with pytest.raises(RecordError, match=key) as refused:
            read_machine(f"{key} = {value}\n")
        assert "line 5" in str(refused.value)
    assert f"| `{key}` |" in (DOCS / "workshop.md").read_text(encoding="utf-8")


def test_the_line_of_the_wrong_key():
    """A key that ends like another one is told by its own line."""
    with pytest.raises(RecordError) as refused:
        read_own("acceleration_mm_s2 = 500\nouter_wall_acceleration_mm_s2 = 1\n")
    assert "line 4" in str(refused.value)


def test_a_misspelt_key_is_told_the_right_one():
    """One letter less."""
    with pytest.raises(RecordError, match="bridge_speed_mm_s"):
        read_own("brige_speed_mm_s = 20\n")


def test_lists_are_whole():
    """Every field that ends like a speed or an acceleration is in one of the lists."""
    names = {field.name for field in dataclasses.fields(recipe.Recipe)}
    assert {name for name in names if name.endswith(("_mm_s", "_mm_s2"))} == set(OF_RECIPES)


def test_built_in_printers_take_longer_than_their_speeds_tell():
    """Slow, three arms, fast: the factor that the pages name; ``like`` takes it over, an own one rules."""
    factors = {name: machine.minutes_factor for name, machine in builtin_printers().items()}
    fast = {name for name, machine in builtin_printers().items() if machine.motion.wall_speed >= 100.0}
    assert {factors[name] for name in fast} == {1.65}
    assert factors.pop("round 300") == 1.5
    assert {value for name, value in factors.items() if name not in fast} == {1.35}
    models = (DOCS / "models.md").read_text(encoding="utf-8")
    assert "1.35 for slow ones, 1.65 for fast ones, and 1.5 for the one with three arms" in models
    assert read_machine("").minutes_factor == 1.35
    assert read_machine("", "minutes_factor = 1\n").minutes_factor == 1.0
