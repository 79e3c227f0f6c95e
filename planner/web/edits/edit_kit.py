"""Changes of the sheet Kit: proposals taken or refused, several parts at once, stacks, fittings that move."""

from __future__ import annotations

import dataclasses
import json
from collections import Counter
from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT

from planner.api import Records
from planner.errors import RecordError
from planner.model.airframe import StackPlace
from planner.model.part import Part
from planner.web.edits.notes import (
    KEPT,
    NOT_SO,
    add_row,
    drop_notes,
    drop_stack_asked,
    note,
    notes_of,
    recount,
    write,
)
from planner.web.edits.part_rows import known, one_place, part_named, put, row_of, shown, table_of
from planner.web.words import say

PROPOSED = tuple(
    f.name for f in dataclasses.fields(Part) if f.name not in ("mesh", "name", "airframe", "like")
)
STACK_KEYS = tuple(f.name for f in dataclasses.fields(StackPlace))
MANY_KEYS = (
    "section", "other_section", "stack", "order", "printed", "hand", "option", "choice", "recipe",
    "filament", "station_mm",
)  # fmt: skip
FITTING_KEYS = ("station_mm", "across_mm", "up_mm")
NEW_FITTING_KEYS = ("like", "name", "mass_g", "length_mm", "station_mm")
_MOST_NAMED = 3
_HEAD = ("in_assembly_position", "axes")


def answer(
    doc: TOMLDocument,
    records: Records,
    take: list[list[Any]] | None = None,
    leave: list[list[Any]] | None = None,
    options: Mapping[str, str] | None = None,
    stacks: list[dict[str, Any]] | None = None,
    head: Mapping[str, Any] | None = None,
    keep: Mapping[str, str] | None = None,
) -> str:
    """Proposals taken as ``[mesh, key, value, reason]`` or left as ``[mesh, key, value]``.

    Parameters
    ----------
    options : the choice of each option that is built
    stacks : rows that say where stacks begin
    head : ``in_assembly_position`` and ``axes``
    keep : meshes that were replaced and keep their place, each with the key of its file
    """
    for mesh, key, value, reason in take or []:
        _take(doc, records, str(mesh), str(key), value, str(reason))
    for mesh, key, value in leave or []:
        _leave(doc, records, str(mesh), str(key), value)
    for values in stacks or []:
        _stack_taken(doc, values)
    for key, value in (head or {}).items():
        known(key, _HEAD)
        row = table_of(doc, "airframe")
        drop_notes(row, lambda text, key=key: text.partition("=")[0].strip() == key)  # type: ignore[misc]
        write(row, key, _inline(value) if isinstance(value, dict) else value)
    for option, choice in (options or {}).items():
        table_of(doc, "options")[option] = choice
    for mesh, file in (keep or {}).items():
        row = _row_of_mesh(doc, records, mesh)
        drop_notes(row, lambda text: text.startswith(KEPT))
        note(row, f"{KEPT} {file}")
    recount(doc)
    taken, left = len(take or []) + len(stacks or []) + len(head or {}) + len(options or {}), len(leave or [])
    return say("edit_answers", taken=taken + len(keep or {}), left=left)


def set_parts(doc: TOMLDocument, records: Records, parts: list[str], values: dict[str, Any]) -> str:
    """The same values for several parts; what is not named stays as it is.

    ``stack`` and ``order`` are one place: with several parts the first gets the order, each next one more.
    """
    for key in values:
        known(key, MANY_KEYS)
    if not parts or not values:
        raise RecordError(say("nothing_chosen"))
    placed: Counter[str] = Counter()  # the hands of a stack share its orders
    for name in parts:
        part = part_named(records, str(name))
        row = row_of(doc, records, part)
        for key, value in values.items():
            if key not in ("stack", "order", "option", "choice"):
                _put_one(row, part, key, value)
        if "stack" in values or "order" in values:
            _place(doc, row, part, values, placed[part.hand])
            placed[part.hand] += 1
        if "option" in values or "choice" in values:
            _choose(row, part, values)
    _drop_idle_options(doc)
    recount(doc)
    names = ", ".join(map(str, parts[:_MOST_NAMED])) + (" ..." if len(parts) > _MOST_NAMED else "")
    told = ", ".join(f"{say(f'key_{key}')} {shown(value)}" for key, value in values.items())
    return say("edit_parts", parts=names, values=told)


def set_one(doc: TOMLDocument, records: Records, part: str, key: str, value: Any) -> str:
    """One value of one part, as ``set_parts`` has it."""
    return set_parts(doc, records, [part], {key: value})


def set_stack(doc: TOMLDocument, records: Records, stack: str, key: str, value: Any) -> str:
    """Where a stack begins and which way it runs; the row is made where there is none."""
    known(key, STACK_KEYS[1:])
    rows = doc.get("stack")
    row = next((r for r in rows if r.get("name") == stack), None) if isinstance(rows, AoT) else None
    row = add_row(doc, "stack", {"name": stack}) if row is None else row
    drop_stack_asked(doc, stack)
    recount(doc)
    if value in (None, ""):
        row.pop(key, None)
    else:
        write(row, key, value)
    return say("edit_stack", stack=stack, key=say(f"key_{key}"), value=shown(value))


def set_fitting(doc: TOMLDocument, records: Records, fitting: int, name: str, key: str, value: Any) -> str:
    """Where a fitting sits: by the number of its row, which must still be of that name."""
    known(key, FITTING_KEYS)
    rows = doc.get("fitting")
    fittings = records.airframe.fittings
    there = isinstance(rows, AoT) and isinstance(fitting, int) and 0 <= fitting < len(rows)
    if not there or fittings[fitting].name != name:
        raise RecordError(say("fitting_gone", name=name), where="airframe.toml", next_step=say("load_anew"))
    row = rows[fitting]  # type: ignore[index]
    if value in (None, ""):
        row.pop(key, None)
    else:
        write(row, key, round(float(value), 1) if not isinstance(value, str) else value)
    return say("edit_row", name=name, key=say(f"key_{key}"), value=shown(value))


def add_fitting(doc: TOMLDocument, records: Records, values: dict[str, Any]) -> str:
    """A fitting more: a row of the built-in table, or a name and its mass."""
    for key in values:
        known(key, NEW_FITTING_KEYS)
    add_row(doc, "fitting", {k: v for k, v in values.items() if v not in (None, "")})
    return say("edit_add", kind=say("kind_fitting"), name=str(values.get("name") or values.get("like", "")))


def _take(doc: TOMLDocument, records: Records, mesh: str, key: str, value: Any, reason: str) -> None:
    known(key, PROPOSED)
    row = _row_of_mesh(doc, records, mesh)
    drop_notes(row, lambda text: _asks(text, key))
    if key in ("copies", "hand", "mirror"):
        put(row, _part_of_mesh(records, mesh), key, value)
    one_place(row, key)
    write(row, key, as_written(key, value), reason)


def _leave(doc: TOMLDocument, records: Records, mesh: str, key: str, value: Any) -> None:
    """A proposal that does not hold: the line that asked says so, and what was taken already goes."""
    known(key, PROPOSED)
    row = _row_of_mesh(doc, records, mesh)
    drop_notes(row, lambda text: _asks(text, key))
    if key in row and key != "copies" and row[key].unwrap() == as_written(key, value).unwrap():
        row.pop(key)
    note(row, f"{key} = {as_written(key, value).as_string()}  # {NOT_SO}")


def left_of(row: Any) -> list[str]:
    """What was asked of a row and is not so, as ``key = value``."""
    return [
        text.rpartition("#")[0].strip() for text in notes_of(row) if text.rpartition("#")[2].strip() == NOT_SO
    ]


def line_of(key: str, value: Any) -> str:
    """A key and its value as a row has them."""
    return f"{key} = {as_written(key, value).as_string()}"


def as_written(key: str, value: Any) -> Any:
    """The value of a proposal as the file takes it: pairs are places in stacks, or choices of options."""
    if isinstance(value, list | tuple) and len(value) == 2 and key == "stack":
        return _inline({"name": str(value[0]), "order": int(value[1])})
    if isinstance(value, list | tuple) and len(value) == 2 and key == "option":
        return _inline({str(value[0]): str(value[1])})
    return tomlkit.item(list(value) if isinstance(value, tuple) else value)


def _asks(text: str, key: str) -> bool:
    name, sign, _ = text.partition("=")
    return bool(sign) and name.strip() == key and text.rpartition("#")[2].strip() != NOT_SO


def _stack_taken(doc: TOMLDocument, values: dict[str, Any]) -> None:
    reason = str(values.get("reason", ""))
    own = {key: value for key, value in values.items() if key in STACK_KEYS and value is not None}
    for key in values:
        known(key, (*STACK_KEYS, "reason"))
    rows = doc.get("stack")
    if isinstance(rows, AoT) and any(row.get("name") == own.get("name") for row in rows):
        for key, value in own.items():
            set_stack_row(rows, str(own["name"]), key, value)
    else:
        add_row(doc, "stack", own, {"start_mm": reason})
    drop_stack_asked(doc, str(own.get("name")))


def set_stack_row(rows: Any, name: str, key: str, value: Any) -> None:
    """One value of a stack that is there."""
    if key != "name":
        write(next(row for row in rows if row.get("name") == name), key, value)


def _put_one(row: Any, part: Part, key: str, value: Any) -> None:
    drop_notes(row, lambda text: _asks(text, "copies" if key == "printed" else key))
    if key == "printed":
        put(row, part, "copies", max(1, part.copies) if value else 0)
    elif key == "hand":
        put(row, part, key, value)
    elif value in (None, ""):
        row.pop(key, None)
    else:
        one_place(row, key)
        write(row, key, value)


def _place(doc: TOMLDocument, row: Any, part: Part, values: dict[str, Any], at: int) -> None:
    drop_notes(row, lambda text: _asks(text, "stack"))
    name = values.get("stack", part.stack.name if part.stack else None)
    if name in (None, ""):
        row.pop("stack", None)
        return
    order = values.get("order", part.stack.order if part.stack and "stack" not in values else None)
    if order is None:
        order = _behind(doc, str(name), row, part)
    elif "order" in values:
        order = order + at if isinstance(order, int) else order
    made = {"name": str(name), "order": order}
    if part.stack is not None and part.stack.detachable:
        made["detachable"] = True
    write(row, "stack", _inline(made))
    row.pop("station_mm", None)
    one_place(row, "stack")


def _behind(doc: TOMLDocument, name: str, own: Any, part: Part) -> int:
    """The place after the last one of its hand in a stack."""
    hand = own.get("hand", part.hand)
    taken = [
        int(row["stack"]["order"])
        for row in doc["part"]
        if row is not own
        and row.get("hand", "none") == hand
        and isinstance(row.get("stack"), dict)
        and row["stack"].get("name") == name
    ]
    return max(taken, default=-1) + 1


def _choose(row: Any, part: Part, values: dict[str, Any]) -> None:
    drop_notes(row, lambda text: _asks(text, "option"))
    option = values.get("option", part.option[0] if part.option else None)
    choice = values.get("choice", part.option[1] if part.option else None)
    if option in (None, ""):
        row.pop("option", None)
    else:
        write(row, "option", _inline({str(option): str(choice or part.name)}))


def _drop_idle_options(doc: TOMLDocument) -> None:
    """A choice of an option that no row has any more would be refused."""
    options = doc.get("options")
    if options is None:
        return
    rows = [row for kind in ("part", "fitting") for row in doc.get(kind, ())]
    used = {(k, v) for row in rows for k, v in (row.get("option") or {}).items()}
    for option in [name for name, choice in options.items() if (name, choice) not in used]:
        options.pop(option)


def _row_of_mesh(doc: TOMLDocument, records: Records, mesh: str) -> Any:
    return row_of(doc, records, _part_of_mesh(records, mesh))


def _part_of_mesh(records: Records, mesh: str) -> Part:
    found = next((part for part in records.airframe.parts if part.mesh == mesh), None)
    if found is None:
        raise RecordError(f"there is no part of the mesh {json.dumps(mesh)}.", where="airframe.toml")
    return found


def _inline(values: Mapping[str, Any]) -> Any:
    made = tomlkit.inline_table()
    made.update(values)
    return made
