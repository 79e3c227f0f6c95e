"""First drafts of ``airframe.toml`` and ``workshop.toml`` from what the folder holds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import tomlkit
from tomlkit.items import Table

from planner.io.meshes.unit_doubts import Likely
from planner.io.meshes.unit_guess import SHORT
from planner.io.records.builtin import BUILTIN_PRINTER
from planner.io.records.draft_lines import ASKED, EXAMPLES, PRINTER, SHELF, asked_of
from planner.io.records.part_record import DEFAULT_FILAMENT, DEFAULT_RECIPE, MeshHint
from planner.kit.proposal import Proposal
from planner.kit.reading import sections_in_order
from planner.kit.seat_lines import DATUM, SEAT, seated
from planner.kit.stacks import StackRow
from planner.model.axes import Axes
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.recipe import Recipe


@dataclass(frozen=True, slots=True)
class Placed:
    """Meshes that are drawn in place: why they seem to be, and the axes where these are not the usual ones.

    ``lies`` is why, or what stays open where it is not ``sure``.
    """

    why: str
    axes: Axes | None = None
    sure: bool = True
    lies: str = ""


def airframe_draft(
    name: str,
    hints: Sequence[MeshHint],
    recipes: Sequence[Recipe],
    units: Mapping[str, Likely] = MappingProxyType({}),
    placed: Placed | None = None,
    turns: str = "",
    found: Sequence[Proposal] = (),
    stacks: Sequence[StackRow] = (),
) -> str:
    """One ``[[part]]`` a mesh, with what its name suggests; a likely unit is a line to be uncommented.

    What was ``found`` about the kit stands in the rows with its reason: what is sure as it is, what is not as
    a line to be uncommented.

    Where the meshes are drawn in place, the head says so, and which way the airframe lies. ``turns`` says
    what turning parts would spare: a line to be uncommented, too.
    """
    text = tomlkit.document()
    text.add(tomlkit.comment("Drafted from the meshes in this folder. Every key is optional but part.mesh."))
    text.add(tomlkit.comment("Recipes: " + ", ".join(recipe.name for recipe in recipes)))
    if open_ := sum(not one.sure for one in found) + sum(not row.sure for row in stacks):
        count = "1 line is" if open_ == 1 else f"{open_} lines are"
        text.add(tomlkit.comment(f'{count} marked "not sure": take the # away where it is right.'))
    head = tomlkit.table()
    head.add("name", name)
    if seated(found):
        head.add("datum", tomlkit.item(DATUM).comment("what the seats of the parts count from"))
    for line in (
        "target_mass_g = 1450          # flying mass",
        *(() if seated(found) else (f'datum = "{DATUM}"',)),
        "mean_chord_mm = 180",
        "wing_area_dm2 = 30",
        "balance_window_mm = [50, 65]  # aft of the datum",
        *ASKED,
    ):
        head.add(tomlkit.comment(line))
    if placed is not None:
        _tell_place(head, placed)
    if sections := sections_in_order(found):
        head.add("sections", list(sections))
        for line in asked_of(sections):
            head.add(tomlkit.comment(line))
    text.add("airframe", head)
    defaults = tomlkit.table()
    defaults.add("recipe", DEFAULT_RECIPE)
    defaults.add("filament", DEFAULT_FILAMENT)
    if turns:
        defaults.add(tomlkit.comment(f"may_turn = true  # {_shown(turns)}"))
    text.add("defaults", defaults)
    rows = tomlkit.aot()
    for hint in hints:
        row = _part(hint, [one for one in found if one.mesh == hint.name])
        if hint.name in units:
            likely = units[hint.name]
            row.add(tomlkit.comment(f'unit = "{SHORT[likely.unit]}"  # {_shown(likely.why)}'))
        rows.append(row)
    text.add("part", rows)
    _add_stacks(text, stacks)
    for block in EXAMPLES:
        text.add(tomlkit.nl())
        for line in block:
            text.add(tomlkit.comment(line))
    return tomlkit.dumps(text)


def rows_as_found(found: Sequence[Proposal]) -> str:
    """What is sure, as rows that say nothing else; parts have no place in stacks by it."""
    text = tomlkit.document()
    head: dict[str, Any] = {"datum": DATUM} if seated(found) else {}
    if sections := sections_in_order(found):
        head["sections"] = list(sections)
    if head:
        text.add("airframe", head)
    by_mesh: dict[str, list[Proposal]] = {}
    for one in found:
        if one.sure and one.key != "stack":
            by_mesh.setdefault(one.mesh, []).append(one)
    if by_mesh:
        rows = tomlkit.aot()
        for mesh, own in by_mesh.items():
            row = tomlkit.table()
            row.add("mesh", mesh)
            for one in own:
                row.add(one.key, _value(one))
            rows.append(row)
        text.add("part", rows)
    return tomlkit.dumps(text)


def _value(one: Proposal) -> Any:
    if not isinstance(one.value, tuple):
        return tomlkit.item(one.value)
    if one.key == SEAT:
        return tomlkit.item(list(one.value))
    value = tomlkit.inline_table()
    if one.key == "stack":
        value.add("name", one.value[0])
        value.add("order", one.value[1])
    else:
        value.add(*one.value)
    return value


def _shown(text: str) -> str:
    return "".join(letter if letter.isprintable() else " " for letter in text)


def _tell_place(head: Table, placed: Placed) -> None:
    head.add(tomlkit.comment(f"in_assembly_position = true   # {placed.why}; false if they are not"))
    if placed.axes is not None and placed.sure:
        head.add("axes", tomlkit.value(str(placed.axes).removeprefix("axes = ")).comment(placed.lies))
    elif placed.axes is not None:
        head.add(tomlkit.comment(f"{placed.axes}  # not sure: {placed.lies}"))


def _part(hint: MeshHint, found: Sequence[Proposal]) -> Table:
    row = tomlkit.table()
    row.add("mesh", hint.name)
    unwanted = next((one for one in found if one.key == "copies"), None)
    if unwanted is None or not unwanted.sure:
        row.add("copies", hint.copies)
    for one in found:
        value = _value(one)
        if one.sure:
            row.add(one.key, value.comment(_shown(one.reason)))
        else:
            line = f"{one.key} = {value.as_string()}"
            row.add(tomlkit.comment(f"{line}  # not sure: {_shown(one.reason)}"))
    if hint.hand != "none":
        row.add("hand", hint.hand)
    if hint.mirror:
        row.add("mirror", True)
    return row


def _add_stacks(text: tomlkit.TOMLDocument, stacks: Sequence[StackRow]) -> None:
    """Stacks that are sure as rows; those whose start nobody can tell as comments with a line to fill in."""
    rows = tomlkit.aot()
    for one in stacks:
        if one.sure:
            row = tomlkit.table()
            row.add("name", one.name)
            row.add("start_mm", tomlkit.item(one.start_mm).comment(_shown(one.reason)))
            row.add("direction", one.direction)
            rows.append(row)
    if rows:
        text.add("stack", rows)
    for one in stacks:
        if not one.sure:
            text.add(tomlkit.nl())
            for line in (
                f"[[stack]]  # not sure: {_shown(one.reason)}",
                f"name = {tomlkit.item(one.name).as_string()}  # its parts are marked above",
                "start_mm = 0  # aft of the datum: to be filled in",
                f"direction = {tomlkit.item(one.direction).as_string()}",
            ):
                text.add(tomlkit.comment(line))


def workshop_draft(
    printers: Sequence[Printer], filaments: Sequence[Filament], currency: str, zone: str | None = None
) -> str:
    """A workshop with one built-in printer, an empty shelf and evening hours, in a time zone, to edit."""
    text = tomlkit.document()
    text.add(tomlkit.comment("What you print with. One file serves every airframe of the workshop."))
    text.add(tomlkit.comment("Built-in printers: " + ", ".join(printer.name for printer in printers)))
    text.add(tomlkit.comment("Built-in filaments: " + ", ".join(filament.name for filament in filaments)))
    text.add("currency", currency)
    text.add(tomlkit.comment('energy_price = "0.30 EUR"     # per kWh'))
    if zone is None:
        text.add(tomlkit.comment('time_zone = "Europe/Lisbon"'))
    else:
        text.add("time_zone", tomlkit.string(zone).comment("of all hours below"))
    printer = tomlkit.table()
    printer.add("name", BUILTIN_PRINTER)
    printer.add("like", BUILTIN_PRINTER)
    printer.add("count", 1)
    for line in PRINTER:
        printer.add(tomlkit.comment(line))
    printers_array = tomlkit.aot()
    printers_array.append(printer)
    text.add("printer", printers_array)
    windows = tomlkit.aot()
    for days, since, until in (
        (["mon", "tue", "wed", "thu", "fri"], "17:30", "22:30"),
        (["sat", "sun"], "09:00", "22:00"),
    ):
        row = tomlkit.table()
        row.add("days", days)
        row.add("from", since)
        row.add("until", until)
        windows.append(row)
    text.add("attendance", windows)
    for block in SHELF:
        text.add(tomlkit.nl())
        for line in block:
            text.add(tomlkit.comment(line))
    return tomlkit.dumps(text)
