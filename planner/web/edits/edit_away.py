"""When a printer, a filament or a spool is away: spans added, changed and taken out of ``workshop.toml``."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Array

from planner.api import Records
from planner.errors import RecordError
from planner.web.edits.moments import moment_of, moment_shown
from planner.web.edits.part_rows import known
from planner.web.words import say

KINDS = ("printer", "filament", "spool")
KEYS = ("until", "why")


def add_away(doc: TOMLDocument, records: Records, what: str, **span: Any) -> str:
    """One span more of ``what``, as ``printer/desk``; ``span`` has ``from``, perhaps ``until`` and ``why``.

    A built-in filament that has no row gets one, which says nothing else.
    """
    kind, _, name = what.partition("/")
    for key in span:
        known(key, ("from", *KEYS))
    if not span.get("from"):
        raise RecordError("from is not told.", where="workshop.toml", next_step="Give the first day.")
    made = tomlkit.inline_table()
    for key in ("from", *KEYS):
        if (value := span.get(key)) not in (None, ""):
            made[key] = str(value).strip() if key == "why" else moment_of(value, key)
    row = _row(doc, records, kind, name)
    spans = row.get("away")
    if isinstance(spans, AoT):
        table = tomlkit.table()
        table.update(made)
        spans.append(table)
    elif isinstance(spans, Array):
        spans.append(made)
    else:
        row["away"] = tomlkit.array()
        row["away"].append(made)
    return say("edit_add_away", name=name, since=moment_shown(made["from"]))


def set_away(
    doc: TOMLDocument, records: Records, kind: str, name: str, since: str, key: str, value: Any
) -> str:
    """When a span ends, or why it is; without a value that is taken out, and nobody knows when it ends."""
    known(key, KEYS)
    spans, at = _span(doc, records, kind, name, since)
    text = "" if value is None else str(value).strip()
    if text:
        spans[at][key] = text if key == "why" else moment_of(text, key)
    else:
        spans[at].pop(key, None)
    return say("edit_set_away", name=name, since=since, key=say(f"key_away_{key}"), value=text or say("none"))


def remove_away(doc: TOMLDocument, records: Records, kind: str, name: str, since: str) -> str:
    """A span less."""
    spans, at = _span(doc, records, kind, name, since)
    del spans[at]
    if not len(spans):
        _row(doc, records, kind, name).pop("away")
    return say("edit_remove_away", name=name, since=since)


def _row(doc: TOMLDocument, records: Records, kind: str, name: str) -> Any:
    """The row of that name; a filament that the workshop knows without one gets it."""
    known(kind, KINDS)
    rows = doc.get(kind)
    found = [row for row in rows if row.get("name") == name] if isinstance(rows, AoT) else []
    if found:
        return found[0]
    if kind != "filament" or name not in {one.name for one in records.workshop.filaments}:
        raise RecordError(f"there is no {kind} {name!r} any more.", where="workshop.toml")
    if not isinstance(rows, AoT):
        doc[kind] = tomlkit.aot()
    made = tomlkit.table()
    made["name"] = name
    doc[kind].append(made)
    return doc[kind][-1]


def _span(doc: TOMLDocument, records: Records, kind: str, name: str, since: str) -> tuple[Any, int]:
    """The spans of a row and the place of the one that begins so: no two of a row begin together."""
    spans = _row(doc, records, kind, name).get("away") or ()
    for at, span in enumerate(spans):
        if moment_shown(span.get("from")) == since:
            return spans, at
    raise RecordError(
        f"{kind} {name!r} is not away from {since} any more.",
        where="workshop.toml",
        next_step="The file was changed since: look at the list anew.",
    )
