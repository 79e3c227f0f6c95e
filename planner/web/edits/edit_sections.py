"""What a section of ``airframe.toml`` asks for: its colour, one lot, and the day by which it is printed."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit import TOMLDocument

from planner.api import Records
from planner.errors import RecordError
from planner.web.edits.moments import day_of
from planner.web.edits.part_rows import known, shown, table_of
from planner.web.words import say

KEYS = ("colour", "one_lot", "date")
_TABLES = {"colour": "section_colours", "date": "section_dates"}


def sections_of(records: Records) -> list[str]:
    """Every section that a piece or the build order names: those of the build order first."""
    frame = records.airframe
    named = (one for part in frame.parts for one in (part.section, part.other_section) if one)
    return list(dict.fromkeys([*frame.sections, *named]))


def set_ask(doc: TOMLDocument, records: Records, section: str, key: str, value: Any) -> str:
    """One wish of a section; an empty one is taken out of the file."""
    known(key, KEYS)
    if section not in sections_of(records):
        raise RecordError(f"there is no section {section!r}.", where="airframe.toml")
    head = table_of(doc, "airframe")
    if key == "one_lot":
        _list(head, "one_lot", section, wanted=value is True)
    elif value is None or value == "":
        _drop(head, _TABLES[key], section)
    else:
        told = day_of(value, "date", "airframe.toml") if key == "date" else value
        _table(head, _TABLES[key])[section] = told
    return say("edit_section", section=section, key=say(f"key_{key}"), value=shown(value))


def _list(head: Any, key: str, section: str, *, wanted: bool) -> None:
    """Put a name into a list of the file or take it out; a list that would be empty goes."""
    if wanted and key not in head:
        head[key] = [section]
    elif wanted and section not in head[key]:
        head[key].append(section)
    elif not wanted and section in head.get(key, ()):
        head[key].remove(section)
        if not len(head[key]):
            head.pop(key)


def _table(head: Any, key: str) -> Any:
    if key not in head:
        head[key] = tomlkit.inline_table()
    return head[key]


def _drop(head: Any, key: str, section: str) -> None:
    table = head.get(key)
    if table is None:
        return
    table.pop(section, None)
    if not len(table):
        head.pop(key)
