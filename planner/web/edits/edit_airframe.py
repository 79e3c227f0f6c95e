"""Changes to ``airframe.toml`` that leave its comments and its order alone."""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Table

from planner.api import Records
from planner.errors import RecordError
from planner.model.axes import Axes
from planner.model.part import Part
from planner.model.recipe import SUPPORT_KEYS, Recipe
from planner.web.words import say

PART_KEYS = ("recipe", "filament", "copies", "hand", "mirror", "section", "station_mm", "may_turn")
HEAD_KEYS = (
    "name",
    "target_mass_g",
    "datum",
    "mean_chord_mm",
    "wing_area_dm2",
    "balance_window_mm",
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
)
_WIDTHS = ("bead_width_mm", "wall_mm")
_COUNTED = ("copies", "hand", "mirror")  # the reader takes these three together from a file's name
STATION_DIGIT_MM = 1e-3  # as studies tell stations


def set_part(doc: TOMLDocument, records: Records, part: str, key: str, value: Any) -> str:
    """One value of one part; a row that speaks for several meshes is left to the others."""
    _known(key, PART_KEYS)
    found = _part(records, part)
    _put(_row(doc, records, found), found, key, value)
    return say("edit_part", part=part, key=say(f"key_{key}"), value=_shown(value))


def set_section(doc: TOMLDocument, records: Records, section: str, key: str, value: Any) -> str:
    """Recipe or filament of every part of a section."""
    _known(key, ("recipe", "filament"))
    parts = [part for part in records.airframe.parts if part.section == section]
    if not parts:
        raise RecordError(f"there is no section {section!r}.", where="airframe.toml")
    for part in parts:
        _put(_row(doc, records, part), part, key, value)
    return say("edit_section", section=section, key=say(f"key_{key}"), value=_shown(value))


def take(
    doc: TOMLDocument,
    records: Records,
    changes: list[dict[str, str]],
    moves: list[dict[str, Any]] | None = None,
) -> str:
    """What a study proposes: recipe and filament of parts, and the stations of fittings that move."""
    for change in changes:
        part = _part(records, str(change.get("part")))
        recipe, filament = _way(records, str(change.get("instead")))
        row = _row(doc, records, part)
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
    _table(doc, "options")[option] = choice
    return say("edit_option", option=option, choice=choice)


def set_head(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """A value of the airframe itself; an empty one is taken out of the file."""
    _known(key, HEAD_KEYS)
    _set_or_drop(_table(doc, "airframe"), key, value)
    return say("edit_head", key=say(f"key_{key}"), value=_shown(value))


def set_axes(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """Which axis of the meshes runs aft or up; the other one makes room. Without a value the file says none.

    Two at once come as a pair, aft and up.
    """
    head, now = _table(doc, "airframe"), records.airframe.axes or Axes()
    if value is None or value == "":
        head.pop("axes", None)
        return say("edit_no_axes")
    if key == "both":
        aft, up = (str(one) for one in value)
    else:
        _known(key, ("aft", "up"))
        aft, up = (str(value), now.up) if key == "aft" else (now.aft, str(value))
        if aft[-1:] == up[-1:]:
            aft, up = (aft, now.aft) if key == "aft" else (now.up, up)
    made = tomlkit.inline_table()
    made.update({"aft": aft, "up": up})
    head["axes"] = made
    return say("edit_axes", aft=aft, up=up)


def set_default(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """Recipe, filament or may_turn of the parts that say nothing else."""
    _known(key, ("recipe", "filament", "may_turn"))
    _table(doc, "defaults")[key] = value
    return say("edit_default", key=say(f"key_{key}"), value=_shown(value))


def set_recipe(doc: TOMLDocument, records: Records, recipe: str, key: str, value: Any) -> str:
    """One value of a recipe; a built-in one becomes the airframe's own."""
    _known(key, RECIPE_KEYS)
    if recipe not in records.recipes:
        raise RecordError(f"there is no recipe {recipe!r}.", where="airframe.toml")
    own = _own_recipe(doc, recipe, recipe)
    if key in _WIDTHS:  # a file says one of the two
        other = next(one for one in _WIDTHS if one != key)
        own.pop(other, None)
    if key in _WIDTHS and value in (None, ""):
        own.pop(key, None)  # the width stays what it is
        own["bead_width_mm"] = round(recipe_values(records, doc.unwrap(), recipe)["bead_width_mm"], 4)
    else:
        own[key] = value
    return say("edit_recipe", recipe=recipe, key=say(f"key_{key}"), value=_shown(value))


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
    recipes = _table(doc, "recipe", parents=True)
    if recipe not in recipes:
        made = tomlkit.table()
        made["like"] = like
        recipes[recipe] = made
    return recipes[recipe]


def _part(records: Records, name: str) -> Part:
    found = next((part for part in records.airframe.parts if part.name == name), None)
    if found is None:
        raise RecordError(f"there is no part {name!r}.", where="airframe.toml")
    return found


def _row(doc: TOMLDocument, records: Records, part: Part) -> Any:
    """The row that speaks for this part alone; made when there is none."""
    rows = doc.get("part")
    if not isinstance(rows, AoT):
        rows = tomlkit.aot()
        doc["part"] = rows
        rows = doc["part"]
    exact = [row for row in rows if row.get("mesh") == part.mesh]
    named = [row for row in exact if row.get("name") == part.name]
    if named or exact:
        return (named or [row for row in exact if "name" not in row] or exact)[0]
    made = tomlkit.table()
    made["mesh"] = part.mesh
    named_alone = {str(row.get("mesh")) for row in rows}
    meshes = {other.mesh for other in records.airframe.parts} - named_alone
    for row in rows:
        if _speaks_for(row, part.mesh):
            if not any(_speaks_for(row, mesh) for mesh in meshes - {part.mesh}):
                return row  # a pattern that would be left without a mesh is wrong
            for key, value in row.unwrap().items():
                if key != "mesh":
                    made[key] = value
            break
    else:
        _spell_out(made, part)
    rows.append(made)
    return rows[-1]


def _speaks_for(row: Any, mesh: str) -> bool:
    pattern = str(row.get("mesh"))
    return fnmatchcase(mesh, pattern) or fnmatchcase(mesh.partition("#")[0], pattern)


def _spell_out(row: Any, part: Part) -> None:
    """Write what the reader took from the file's name, so that a change of one leaves the others."""
    row["copies"] = part.copies
    row["hand"] = part.hand
    row["mirror"] = part.mirror


def _put(row: Any, part: Part, key: str, value: Any) -> None:
    if key in _COUNTED:
        for other in _COUNTED:
            if other not in row and other != key:
                row[other] = getattr(part, other)
    _set_or_drop(row, key, value)


def _set_or_drop(table: Any, key: str, value: Any) -> None:
    if value is None or value == "":
        table.pop(key, None)
    else:
        table[key] = value


def _table(doc: TOMLDocument, name: str, *, parents: bool = False) -> Any:
    if name not in doc:
        made: Table = tomlkit.table(is_super_table=parents)
        doc[name] = made
    return doc[name]


def _known(key: str, keys: tuple[str, ...]) -> None:
    if key not in keys:
        raise RecordError(f"{key!r} is not one of: {', '.join(keys)}.")


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, list):
        return " - ".join(str(one) for one in value)
    return say("none") if value in (None, "") else str(value)
