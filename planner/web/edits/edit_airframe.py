"""Changes to ``airframe.toml`` that leave its comments and its order alone."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT

from planner.api import Records
from planner.errors import RecordError
from planner.model.axes import Axes
from planner.model.part import Part
from planner.model.recipe import SUPPORT_KEYS, Recipe
from planner.web.edits.moments import day_of
from planner.web.edits.part_rows import known, part_named, put, row_of, set_or_drop, shown, table_of
from planner.web.words import say

PART_KEYS = ("recipe", "filament", "copies", "hand", "mirror", "section", "station_mm", "may_turn")
HEAD_KEYS = (
    "name",
    "target_mass_g",
    "datum",
    "mean_chord_mm",
    "wing_area_dm2",
    "balance_window_mm",
    "colour",
    "due",
    "priority",
    "mix",
)
RECIPE_KEYS = (
    "layer_height_mm",
    "bead_width_mm",
    "wall_mm",
    "bead",
    "walls",
    "top_layers",
    "bottom_layers",
    "infill",
    "brim_mm",
    "support",
    "spiral",
    "nozzle_mm",
    "plate",
)
_WIDTHS = ("bead_width_mm", "wall_mm")
_ASKED = ("nozzle_mm", "plate")  # of a printer; without them a bed takes what is on it
STATION_DIGIT_MM = 1e-3  # as studies tell stations


def set_part(doc: TOMLDocument, records: Records, part: str, key: str, value: Any) -> str:
    """One value of one part; a row that speaks for several meshes is left to the others."""
    known(key, PART_KEYS)
    found = part_named(records, part)
    put(row_of(doc, records, found), found, key, value)
    return say("edit_part", part=part, key=say(f"key_{key}"), value=shown(value))


def set_section(doc: TOMLDocument, records: Records, section: str, key: str, value: Any) -> str:
    """Recipe or filament of every part of a section."""
    known(key, ("recipe", "filament"))
    parts = [part for part in records.airframe.parts if part.section == section]
    if not parts:
        raise RecordError(f"there is no section {section!r}.", where="airframe.toml")
    for part in parts:
        put(row_of(doc, records, part), part, key, value)
    return say("edit_section", section=section, key=say(f"key_{key}"), value=shown(value))


def take(
    doc: TOMLDocument,
    records: Records,
    changes: list[dict[str, str]],
    moves: list[dict[str, Any]] | None = None,
) -> str:
    """What a study proposes: recipe and filament of parts, and the stations of fittings that move."""
    for change in changes:
        part = part_named(records, str(change.get("part")))
        recipe, filament = _way(records, str(change.get("instead")))
        row = row_of(doc, records, part)
        row["filament"] = filament
        row["recipe"] = recipe if recipe == part.recipe.name else _borrowed(doc, records, part, recipe)
    for move in moves or []:
        _fitting(doc, move)["station_mm"] = round(float(move["to_mm"]), 1)
    names = ", ".join([str(change["part"]) for change in changes] + [str(m["fitting"]) for m in moves or []])
    return say("edit_take", parts=names)


def _fitting(doc: TOMLDocument, move: dict[str, Any]) -> Any:
    """The row of a fitting that is to move, by its name and where it sits as planned."""
    rows = doc.get("fitting")
    name, at = str(move.get("fitting")), float(move.get("station_mm") or 0.0)
    for row in rows if isinstance(rows, AoT) else ():
        if row.get("name") == name and abs(float(row.get("station_mm") or 0.0) - at) <= STATION_DIGIT_MM:
            return row
    raise RecordError(
        f"there is no fitting {name!r} at station {at:g} mm.",
        where="airframe.toml",
        next_step="The file was changed since the study: make the study anew.",
    )


def _way(records: Records, text: str) -> tuple[str, str]:
    """Recipe and filament of a way as a study names it."""
    for filament in records.workshop.filaments:
        recipe = text.removesuffix(f", {filament.name}")
        if recipe != text and recipe in records.recipes:
            return recipe, filament.name
    raise RecordError(f"there is no way {text!r} to print a part.", where="airframe.toml")


def _borrowed(doc: TOMLDocument, records: Records, part: Part, recipe: str) -> str:
    """The recipe by its name, or one like it with the brim and support that the part has now."""
    values = recipe_values(records, doc.unwrap(), recipe)
    own = part.recipe
    used = next((p.recipe for p in records.airframe.parts if p.recipe.name == recipe), None)
    base = used or records.builtin_recipes.get(recipe) or Recipe(recipe)
    more = {k: getattr(own, k) for k in SUPPORT_KEYS[1:] if getattr(own, k) != getattr(base, k)}
    if own.support == "none":
        more = {}  # how its support would stand is of no use
    if (values["brim_mm"], values["support"]) == (own.brim_mm, own.support) and not more:
        return recipe
    name = f"{recipe}, brim {own.brim_mm:g}" + (f", support {own.support}" if own.support != "none" else "")
    if name not in records.recipes:
        made = _own_recipe(doc, name, recipe)
        made["brim_mm"], made["support"] = own.brim_mm, own.support
        made.update(more)
    return name


def set_option(doc: TOMLDocument, records: Records, option: str, choice: str) -> str:
    """The choice of an option of the kit."""
    table_of(doc, "options")[option] = choice
    return say("edit_option", option=option, choice=choice)


def set_head(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """A value of the airframe itself; an empty one, or that it mixes, is taken out of the file."""
    known(key, HEAD_KEYS)
    told = day_of(value, "due", "airframe.toml") if key == "due" and value not in (None, "") else value
    set_or_drop(table_of(doc, "airframe"), key, None if key == "mix" and value is True else told)
    return say("edit_head", key=say(f"key_{key}"), value=shown(value))


def set_axes(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """Which axis of the meshes runs aft or up; the other one makes room. Without a value the file says none.

    Two at once come as a pair, aft and up.
    """
    head, now = table_of(doc, "airframe"), records.airframe.axes or Axes()
    if value is None or value == "":
        head.pop("axes", None)
        return say("edit_no_axes")
    if key == "both":
        aft, up = (str(one) for one in value)
    else:
        known(key, ("aft", "up"))
        aft, up = (str(value), now.up) if key == "aft" else (now.aft, str(value))
        if aft[-1:] == up[-1:]:
            aft, up = (aft, now.aft) if key == "aft" else (now.up, up)
    made = tomlkit.inline_table()
    made.update({"aft": aft, "up": up})
    head["axes"] = made
    return say("edit_axes", aft=aft, up=up)


def set_default(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """Recipe, filament or may_turn of the parts that say nothing else."""
    known(key, ("recipe", "filament", "may_turn"))
    table_of(doc, "defaults")[key] = value
    return say("edit_default", key=say(f"key_{key}"), value=shown(value))


def set_recipe(doc: TOMLDocument, records: Records, recipe: str, key: str, value: Any) -> str:
    """One value of a recipe; a built-in one becomes the airframe's own."""
    known(key, RECIPE_KEYS)
    if recipe not in records.recipes:
        raise RecordError(f"there is no recipe {recipe!r}.", where="airframe.toml")
    own = _own_recipe(doc, recipe, recipe)
    if key in _WIDTHS:  # a file says one of the two
        other = next(one for one in _WIDTHS if one != key)
        own.pop(other, None)
    if key in _WIDTHS and value in (None, ""):
        own.pop(key, None)  # the width stays what it is
        own["bead_width_mm"] = round(recipe_values(records, doc.unwrap(), recipe)["bead_width_mm"], 4)
    elif key in _ASKED and value in (None, ""):
        own.pop(key, None)
    else:
        own[key] = value
    return say("edit_recipe", recipe=recipe, key=say(f"key_{key}"), value=shown(value))


def add_recipe(doc: TOMLDocument, records: Records, recipe: str, like: str) -> str:
    """A recipe of the airframe's own, like another one."""
    if recipe in records.recipes:
        raise RecordError(f"there is a recipe {recipe!r} already.", where="airframe.toml")
    _own_recipe(doc, recipe, like)
    return say("edit_add_recipe", recipe=recipe, like=like)


def recipe_values(records: Records, doc_values: dict[str, Any], recipe: str) -> dict[str, Any]:
    """What a recipe holds, for a form: as parts use it, or as the tables have it."""
    used = next((p.recipe for p in records.airframe.parts if p.recipe.name == recipe), None)
    own = doc_values.get("recipe", {}).get(recipe, {})
    base = used or records.builtin_recipes.get(recipe) or Recipe(recipe)
    return {key: getattr(base, key) if used else own.get(key, getattr(base, key)) for key in RECIPE_KEYS}


def _own_recipe(doc: TOMLDocument, recipe: str, like: str) -> Any:
    recipes = table_of(doc, "recipe", parents=True)
    if recipe not in recipes:
        made = tomlkit.table()
        made["like"] = like
        recipes[recipe] = made
    return recipes[recipe]
