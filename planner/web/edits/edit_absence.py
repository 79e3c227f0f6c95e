"""Days on which a person, or everybody, is not there: absences of ``workshop.toml``."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT

from planner.api import Records
from planner.errors import RecordError
from planner.web.edits.moments import day_of
from planner.web.edits.part_rows import known, shown
from planner.web.words import say

WHERE = "workshop.toml"
KEYS = ("from", "until", "person")


def add_absence(doc: TOMLDocument, records: Records, **span: Any) -> str:
    """One span more; without ``person`` nobody is there, without ``until`` it is that one day."""
    for key in span:
        known(key, KEYS)
    if not span.get("from"):
        raise RecordError("from is not told.", where=WHERE, next_step="Give the first day.")
    made = tomlkit.table()
    for key in ("from", "until"):
        if span.get(key):
            made[key] = day_of(span[key], key, WHERE)
    if person := str(span.get("person") or "").strip():
        made["person"] = person
    if not isinstance(doc.get("absence"), AoT):
        doc["absence"] = tomlkit.aot()
    doc["absence"].append(made)
    return say("edit_add_absence", who=who_is(person), since=made["from"])


def set_absence(doc: TOMLDocument, records: Records, row: int, person: str, since: str, value: Any) -> str:
    """The last day of a span; without a value it is that one day."""
    at = _place(doc, row, person, since)
    found = doc["absence"][at]
    text = "" if value is None else str(value).strip()
    if text:
        found["until"] = day_of(text, "until", WHERE)
    else:
        found.pop("until", None)
    return say("edit_set_absence", who=who_is(person), since=since, until=text or since)


def remove_absence(doc: TOMLDocument, records: Records, row: int, person: str, since: str) -> str:
    """A span less."""
    at = _place(doc, row, person, since)
    del doc["absence"][at]
    if not len(doc["absence"]):
        del doc["absence"]
    return say("edit_remove_absence", who=who_is(person), since=since)


def set_empty_days(doc: TOMLDocument, records: Records, value: Any) -> str:
    """The single days on which nobody is there, as a list of them; without any the key goes."""
    words = [value] if isinstance(value, str) else list(value or ())
    days = [day_of(word, "away", WHERE) for word in words]
    if days:
        doc["away"] = days
    else:
        doc.pop("away", None)
    return say("edit_empty_days", days=", ".join(map(str, days)) or shown(None))


def who_is(person: str) -> str:
    """The name, or that it is everybody."""
    return person or say("everybody")


def _place(doc: TOMLDocument, row: int, person: str, since: str) -> int:
    """Where a span stands; rows before it may have come or gone since the page showed it."""
    rows = doc.get("absence")
    mine = [
        at
        for at, one in enumerate(rows if isinstance(rows, AoT) else ())
        if str(one.get("from")) == since and str(one.get("person", "")).strip() == person
    ]
    if row in mine:
        return row
    if len(mine) != 1:
        raise RecordError(
            f"{who_is(person)!r} is not away from {since} any more.",
            where=WHERE,
            next_step="The file was changed since: look at the list anew.",
        )
    return mine[0]
