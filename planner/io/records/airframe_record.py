"""``airframe.toml`` and a folder of meshes into an airframe."""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from planner.errors import RecordError
from planner.io.records.part_record import DEFAULT_FILAMENT, Defaults, MeshHint, PartRows, read_option
from planner.io.records.record import Record
from planner.io.records.workshop_record import read_colour, read_recipe
from planner.io.toml_file import TomlFile
from planner.model.airframe import Airframe, Finish, Fitting, StackPlace
from planner.model.axes import Axes
from planner.model.choices import Choices
from planner.model.part import Part
from planner.model.recipe import Recipe
from planner.model.wing import TailGeometry, WingGeometry
from planner.weights.fittings import built_in_fitting

_OWN = frozenset(
    {
        "wing",
        "tail",
        "mass_limits_g",
        "parts",
        "fittings",
        "finish",
        "options",
        "choices",
        "stacks",
        "sections",
        "section_dates",
        "section_colours",
        "colour",
        "overlaps_mm",
        "out_of_place",
        "axes",
        "due",
        "members",
        "copy_of",
    }
)


@dataclass(frozen=True, slots=True)
class AirframeReading:
    """The airframe, what was assumed to make it, and all recipes by name, built-in and own."""

    airframe: Airframe
    assumptions: tuple[str, ...]
    recipes: Mapping[str, Recipe] = dataclasses.field(default_factory=dict)


def _section_dates(head: Record) -> dict[str, date]:
    """Days by the end of which a section shall be printed, as fuselage = 2026-12-05."""
    days: dict[str, date] = head.take("section_dates", dict, {})
    for name, day in days.items():
        if type(day) is not date:
            head.wrong(
                "section_dates", f"the date of section {name!r} is {day!r}.", "Write it like 2026-12-05."
            )
    return dict(days)


def _colours(head: Record) -> dict[str, Any]:
    """``colour = "white"`` for all of it, and section_colours, as fuselage = "red"; only what is written."""
    found: dict[str, Any] = {}
    if (colour := head.take("colour", str)) is not None:
        found["colour"] = read_colour(head, "colour", colour)
    rows = head.take("section_colours", dict, {})
    if rows:
        found["section_colours"] = {
            name: read_colour(head, "section_colours", colour) for name, colour in rows.items()
        }
    return found


def all_due(due: date, dates: Mapping[str, date], sections: Sequence[str]) -> dict[str, date]:
    """A date for each section: its own, else the day by the end of which all shall be printed."""
    return {**dict.fromkeys(sections, due), **dates}


def _held_dates(held: Choices, parts: Sequence[Part], listed: Sequence[str]) -> dict[str, date]:
    """Dates of the earlier plan for the sections that there still are."""
    sections = {*listed, *(name for part in parts for name in (part.section, part.other_section))}
    return {name: day for name, day in held.section_dates.items() if name in sections}


def declared_unit(file: TomlFile) -> str | None:
    """``airframe.unit`` when it is written: the meshes are read by it."""
    unit = file.values.get("airframe", {})
    value = unit.get("unit") if isinstance(unit, dict) else None
    return value if isinstance(value, str) else None


def read_airframe(
    file: TomlFile,
    hints: Sequence[MeshHint],
    recipes: Mapping[str, Recipe],
    currency: str,
    *,
    name: str,
    unusable: Sequence[str] = (),
    default_filament: str | None = None,
    chosen: Mapping[str, str] | None = None,
    held: Choices | None = None,
) -> AirframeReading:
    """Read the file; meshes that it does not name follow its defaults.

    Parameters
    ----------
    name : of the airframe, when the file gives none
    default_filament : from the command line; holds where a part names none
    chosen : options from the command line; they overrule the file
    held : options and section dates of an earlier plan: the options overrule the file as long as the kit has
        them, the dates hold where the file has none

    Raises
    ------
    RecordError
        for a wrong or unknown key, naming its line and the nearest right one
    """
    top = Record(file, file.values, ("", 0), "")
    head = top.table("airframe") or Record(file, {}, ("airframe", 0), "airframe")
    given: dict[str, Any] = head.fields(Airframe, skip=_OWN)
    given["name"] = given.get("name", name)
    given["balance_window_mm"] = head.numbers("balance_window_mm", 2)
    given["sections"] = head.texts("sections") or ()
    held = held or Choices()
    dates = _section_dates(head) if "section_dates" in head.values else None
    given |= _shape(top)
    given |= _colours(head)
    given["axes"] = _axes(head)
    given["due"] = due = head.take("due", date)
    head.take("unit", str)
    head.done()
    known = dict(recipes)
    for key, values in (top.take("recipe", dict, {})).items():
        if not isinstance(values, dict):
            top.wrong("recipe", f"recipe.{key} must be a table [recipe.{key}].")
        known[key] = read_recipe(Record(file, values, (f"recipe.{key}", 0), f"recipe.{key}"), key, known)
    defaults = _defaults(top, default_filament)
    parts, loose = PartRows(known, defaults, hints, unusable).parts(top.tables("part"))
    fittings = tuple(_fitting(row, currency) for row in top.tables("fitting"))
    stacks = tuple(_simple(row, StackPlace) for row in top.tables("stack"))
    finish = top.table("finish")
    choices = _choices(parts, fittings)
    _refuse_unknown(chosen or {}, choices)
    still = {key: value for key, value in held.options.items() if value in choices.get(key, ())}
    options = {**_options(top), **still, **(chosen or {})}
    assumed = [_first_choice(option, names) for option, names in choices.items() if option not in options]
    options = {**{option: names[0] for option, names in choices.items()}, **options}
    top.done()
    given["section_dates"] = _held_dates(held, parts, given["sections"]) if dates is None else dates
    if due is not None:
        homes = [name for part in parts for name in (part.section, part.other_section) if name]
        given["section_dates"] = all_due(due, dates or {}, homes)
    with top.located():
        airframe = Airframe(
            parts=tuple(parts),
            fittings=fittings,
            finish=_finish(finish, currency) if finish else Finish(),
            options=options,
            choices=choices,
            stacks=stacks,
            **given,
        )
    return AirframeReading(airframe, tuple(assumed + _about(loose, defaults, hints)), known)


def _shape(top: Record) -> dict[str, Any]:
    """Plan form of wing and tail, and the mass classes of the user's own authority."""
    found: dict[str, Any] = {}
    for key, kind in (("wing", WingGeometry), ("tail", TailGeometry)):
        if (table := top.table(key)) is not None:
            found[key] = _simple(table, kind)
    if (limits := top.table("mass_limits_g")) is not None:
        found["mass_limits_g"] = tuple((name, limits.required(name, float)) for name in limits.values)
    return found


def _axes(head: Record) -> Axes | None:
    """``axes = { aft = "y", up = "z" }``: both are asked for, the right side follows."""
    row = head.table("axes")
    if row is None:
        return None
    aft, up = row.required("aft", str), row.required("up", str)
    right = row.take("right", str, "")
    row.done()
    with row.located():
        return Axes(aft, up, right)


def _simple(row: Record, kind: type) -> Any:
    values = row.fields(kind)
    for field in dataclasses.fields(kind):
        if field.default is dataclasses.MISSING and field.name not in values:
            row.required(field.name, float)
    row.done()
    with row.located():
        return kind(**values)


def _fitting(row: Record, currency: str) -> Fitting:
    """A row by its own mass, or like a row of the built-in table, with what it says otherwise."""
    values: dict[str, Any] = row.fields(Fitting, skip=frozenset({"price_minor"}))
    if (room := row.numbers("movable_mm", 2)) is not None:
        values["movable_mm"] = room
    like, length = row.take("like", str), row.take("length_mm", float)
    if like is None:
        for key in ("name", "mass_g"):
            row.required(key, float if key == "mass_g" else str)
    price = row.money("price", currency)
    option = read_option(row)
    row.done()
    with row.located():
        if like is None:
            return Fitting(**values, price_minor=price, option=option)
        usual = built_in_fitting(like).fitting(length_mm=length)
        if "mass_g" in values:
            usual = dataclasses.replace(usual, spread=None, source="given")
        return dataclasses.replace(usual, **values, price_minor=price, option=option)


def _finish(row: Record, currency: str) -> Finish:
    values: dict[str, Any] = row.fields(Finish, skip=frozenset({"price_minor"}))
    price = row.money("price", currency)
    row.done()
    with row.located():
        return Finish(**values, price_minor=price)


def _defaults(top: Record, filament: str | None) -> Defaults:
    row = top.table("defaults")
    if row is None:
        return Defaults(filament=filament or DEFAULT_FILAMENT)
    given = row.fields(Defaults)
    row.done()
    if filament is not None:
        given["filament"] = filament
    return Defaults(**given)


def _options(top: Record) -> dict[str, str]:
    values = top.take("options", dict, {})
    for key, value in values.items():
        if not isinstance(value, str):
            top.wrong("options", f"options.{key} = {value!r} must be text in quotes.")
    return dict(values)


def _choices(parts: Sequence[Part], fittings: Sequence[Fitting]) -> dict[str, tuple[str, ...]]:
    found: dict[str, dict[str, None]] = {}
    for option in [p.option for p in parts] + [f.option for f in fittings]:
        if option is not None:
            found.setdefault(option[0], {})[option[1]] = None
    return {name: tuple(values) for name, values in found.items()}


def _refuse_unknown(chosen: Mapping[str, str], choices: Mapping[str, tuple[str, ...]]) -> None:
    """An option of the command line that the airframe does not have is named as that, with those near it."""
    for key, value in chosen.items():
        known, what = (
            (choices, f"option {key!r}") if key not in choices else (choices[key], f"choice {value!r}")
        )
        wanted = key if key not in choices else value
        if wanted in known:
            continue
        near = difflib.get_close_matches(wanted, known, n=3)
        meant = f"Did you mean {' or '.join(near)}? " if near else ""
        of = "" if key not in choices else f" of option {key!r}"
        raise RecordError(
            f"there is no {what}{of}.",
            where=f"--option {key}={value}",
            next_step=f"{meant}Known: {', '.join(known) or 'none, no part and no fitting has an option'}.",
        )


def _first_choice(option: str, names: tuple[str, ...]) -> str:
    return f'option {option}: nothing was chosen, "{names[0]}" is taken (of {", ".join(names)})'


def _about(loose: Sequence[str], defaults: Defaults, hints: Sequence[MeshHint]) -> list[str]:
    said: list[str] = []
    if loose:
        meshes = "1 mesh is" if len(loose) == 1 else f"{len(loose)} meshes are"
        said.append(
            f'{meshes} named in no [[part]]: recipe "{defaults.recipe}", filament "{defaults.filament}",'
            " copies and hands as the file names suggest"
        )
    return said + from_names([hint for hint in hints if hint.name in set(loose)])


def from_names(hints: Sequence[MeshHint]) -> list[str]:
    """What the names of meshes say of copies and hands, a line for each that says something."""
    said: list[str] = []
    for hint in hints:
        if hint.copies == 1 and not hint.mirror and hint.hand == "none":
            continue
        words = [f"{hint.copies} copies"] if hint.copies > 1 else []
        words += [f"{hint.hand} hand"] if hint.hand != "none" else []
        words += ["and its mirror image"] if hint.mirror else []
        said.append(f"from its name, {hint.name}: {', '.join(words)}")
    return said
