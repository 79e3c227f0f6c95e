"""Rows of ``airframe.toml`` as tomlkit holds them: found, made, and changed in one key."""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Table

from planner.api import Records
from planner.errors import RecordError
from planner.model.part import Part
from planner.web.words import say

_COUNTED = ("copies", "hand", "mirror")  # the reader takes these three together from a file's name


def part_named(records: Records, name: str) -> Part:
    """The part of that name; refused where there is none."""
    found = next((part for part in records.airframe.parts if part.name == name), None)
    if found is None:
        raise RecordError(f"there is no part {name!r}.", where="airframe.toml")
    return found


def row_of(doc: TOMLDocument, records: Records, part: Part) -> Any:
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
        if speaks_for(row, part.mesh):
            if not any(speaks_for(row, mesh) for mesh in meshes - {part.mesh}):
                return row  # a pattern that would be left without a mesh is wrong
            for key, value in row.unwrap().items():
                if key != "mesh":
                    made[key] = value
            break
    else:
        _spell_out(made, part)
    rows.append(made)
    return rows[-1]


def speaks_for(row: Any, mesh: str) -> bool:
    """Whether the mesh that a row names, or its pattern, is this one."""
    pattern = str(row.get("mesh"))
    return fnmatchcase(mesh, pattern) or fnmatchcase(mesh.partition("#")[0], pattern)


def _spell_out(row: Any, part: Part) -> None:
    """Write what the reader took from the file's name, so that a change of one leaves the others."""
    row["copies"] = part.copies
    row["hand"] = part.hand
    row["mirror"] = part.mirror


def put(row: Any, part: Part, key: str, value: Any) -> None:
    """One value of a part's row; copies, hand and mirror are read together, so the others are spelled out."""
    if key in _COUNTED:
        for other in _COUNTED:
            if other not in row and other != key:
                row[other] = getattr(part, other)
    if value not in (None, ""):
        one_place(row, key)
    set_or_drop(row, key, value)


def one_place(row: Any, key: str) -> None:
    """A part sits in one place: what says it anew takes the place of what a draft said."""
    if key in ("stack", "station_mm"):
        row.pop("seat", None)
    elif key == "seat":
        row.pop("stack", None)
        row.pop("station_mm", None)


def set_or_drop(table: Any, key: str, value: Any) -> None:
    """A value, or without one the key is taken out of the file."""
    if value is None or value == "":
        table.pop(key, None)
    else:
        table[key] = value


def table_of(doc: TOMLDocument, name: str, *, parents: bool = False) -> Any:
    """A table of the file, made where there is none."""
    if name not in doc:
        made: Table = tomlkit.table(is_super_table=parents)
        doc[name] = made
    return doc[name]


def known(key: str, keys: tuple[str, ...]) -> None:
    """Refuse a key that is none of these."""
    if key not in keys:
        raise RecordError(f"{key!r} is not one of: {', '.join(keys)}.")


def shown(value: Any) -> str:
    """A value in the words of the page."""
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, list):
        return " - ".join(str(one) for one in value)
    return say("none") if value in (None, "") else str(value)
