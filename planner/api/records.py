"""The records of an airframe as text: read, and so checked, without its meshes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner.api.reading import workshop_of

if TYPE_CHECKING:
    from planner.io.records.part_record import MeshHint
    from planner.model.airframe import Airframe
    from planner.model.filament import Filament
    from planner.model.printer import Printer
    from planner.model.recipe import Recipe
    from planner.model.workshop import Workshop


@dataclass(frozen=True, slots=True)
class Records:
    """What the two files say, and what they may choose from.

    ``recipes`` are the built-in ones and the airframe's own; ``printers`` and ``filaments`` are the
    built-in tables.
    """

    airframe: Airframe
    workshop: Workshop
    assumptions: tuple[str, ...]
    recipes: tuple[str, ...]
    printers: dict[str, Printer]
    filaments: dict[str, Filament]
    builtin_recipes: dict[str, Recipe]


def read_records(
    airframe: str | None,
    workshop: str | None,
    hints: Sequence[MeshHint],
    *,
    name: str,
    unusable: Sequence[str] = (),
    zone: str | None = None,
) -> Records:
    """Read the texts of ``airframe.toml`` and ``workshop.toml``; ``None`` where there is no such file.

    Raises
    ------
    RecordError
        as for files: line, key, value, limit, next step
    """
    from planner.io.records.airframe_record import read_airframe
    from planner.io.records.builtin import builtin_filaments, builtin_recipes
    from planner.io.toml_file import parse_toml

    shop_file = None if workshop is None else parse_toml(workshop, "workshop.toml")
    shop, printers, assumed = workshop_of(shop_file, zone)
    file = parse_toml(airframe or "", "airframe.toml")
    recipes = builtin_recipes()
    reading = read_airframe(file, hints, recipes, shop.currency, name=name, unusable=unusable)
    for part in reading.airframe.parts:
        shop.filament(part.filament)
    return Records(
        reading.airframe,
        shop,
        (*assumed, *reading.assumptions),
        tuple(dict.fromkeys([*file.values.get("recipe", {}), *recipes])),
        printers,
        builtin_filaments(shop.currency),
        recipes,
    )


def values_of(text: str, name: str) -> dict[str, Any]:
    """The values of a record as they are written.

    Raises
    ------
    RecordError
        for a text that is no TOML, with its line
    """
    from planner.io.toml_file import parse_toml

    return dict(parse_toml(text, name).values)
