"""Changes to ``workshop.toml`` that leave its comments and its order alone."""

from __future__ import annotations

from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT

from planner.api import Records
from planner.errors import RecordError
from planner.model.attendance import DAYS
from planner.web.edits.moments import moment_of
from planner.web.edits.part_rows import shown
from planner.web.words import say

ROWS = {
    "printer": (
        "name", "like", "count", "loaded", "loaded_colour", "filaments", "clear_height_mm", "bed",
        "wear_per_hour", "nozzle_mm", "nozzle_hardened", "nozzles", "nozzle_minutes", "plate", "plates",
        "plate_minutes",
    ),
    "filament": (
        "name", "like", "price", "spool_g", "deposited_g_per_cm3", "nozzle_c", "needs_drying", "dry_c",
        "dry_hours", "open_hours", "nozzle_mm", "hardened_nozzle", "plate",
    ),
    "spool": ("name", "filament", "grams_left", "price", "colour", "lot", "at_hand_from", "dried"),
}  # fmt: skip
_MOMENTS = ("at_hand_from", "dried")
TOP_KEYS = (
    "time_zone",
    "persons",
    "currency",
    "energy_price",
    "person_price",
    "clearance_mm",
    "start_minutes",
    "clear_minutes",
    "change_minutes",
    "change_purge_g",
    "run_purge_g",
    "mix_sections",
    "mix_airframes",
)
_MIXES = ("mix_sections", "mix_airframes")  # true where a file does not say


def add_row(doc: TOMLDocument, records: Records, kind: str, values: dict[str, Any]) -> str:
    """A printer, filament or spool more."""
    keys = _keys(kind)
    made = tomlkit.table()
    for key in keys:
        if (value := values.get(key)) not in (None, ""):
            made[key] = _written(key, value)
    _rows(doc, kind).append(made)
    return say("edit_add", kind=say(f"kind_{kind}"), name=str(values.get("name", "")))


def set_row(
    doc: TOMLDocument, records: Records, kind: str, row: int, key: str, value: Any, name: str | None = None
) -> str:
    """One value of a printer, filament or spool; an empty one is taken out of the file.

    With a ``name`` it is the row of that name, wherever it stands by now.
    """
    if key not in _keys(kind):
        raise RecordError(f"{key!r} is not one of: {', '.join(_keys(kind))}.", where="workshop.toml")
    found = _at(doc, kind, _place(doc, kind, row, name))
    if value is None or value in ("", []):
        found.pop(key, None)
    else:
        found[key] = _written(key, value)
    return say("edit_row", name=str(found.get("name", "")), key=say(f"key_{key}"), value=_shown(value))


def remove_row(doc: TOMLDocument, records: Records, kind: str, row: int, name: str | None = None) -> str:
    """A printer, filament or spool less."""
    _keys(kind)
    row = _place(doc, kind, row, name)
    name = str(_at(doc, kind, row).get("name", ""))
    rows = _rows(doc, kind)
    del rows[row]
    if not len(rows):
        del doc[kind]
    return say("edit_remove", kind=say(f"kind_{kind}"), name=name)


def set_top(doc: TOMLDocument, records: Records, key: str, value: Any) -> str:
    """A value of the workshop itself."""
    if key not in TOP_KEYS:
        raise RecordError(f"{key!r} is not one of: {', '.join(TOP_KEYS)}.", where="workshop.toml")
    if value is None or value == "" or (key in _MIXES and value is True):
        doc.pop(key, None)
    else:
        doc[key] = value
    return say("edit_head", key=say(f"key_{key}"), value=_shown(value))


def set_week(doc: TOMLDocument, records: Records, week: dict[str, str], person: str = "") -> str:
    """The hours of every day as text, ``06:30-07:30, 17:30-22:30``, of one person or of those without a name.

    Dated windows, and the hours of everybody else, stay.
    """
    wanted = {day: dict.fromkeys(_windows(day, str(week.get(day, "")))) for day in DAYS}
    groups: dict[tuple[str, str], list[str]] = {}
    for day in DAYS:
        for window in wanted[day]:
            groups.setdefault(window, []).append(day)
    rows = _rows(doc, "attendance")
    kept = set()
    for at in reversed(range(len(rows))):
        row = rows[at]
        if "date" in row or str(row.get("person", "")) != person:
            continue
        window = (_clock(row.get("from")), _clock(row.get("until", row.get("to"))))
        days = [str(day) for day in row.get("days", list(DAYS))]
        if groups.get(window) == [d for d in DAYS if d in days] and window not in kept:
            kept.add(window)
        else:
            del rows[at]
    for window, days in groups.items():
        if window not in kept:
            made = tomlkit.table()
            made["days"] = days
            made["from"], made["until"] = window
            if person:
                made["person"] = person
            rows.append(made)
    if not len(rows):
        del doc["attendance"]
    return say("edit_week_of", person=person) if person else say("edit_week")


def people_of(records: Records) -> list[str]:
    """Names in the weekly windows in their order; first the empty one, for those without a name."""
    return list(dict.fromkeys(["", *(window.person for window in records.workshop.attendance.weekly)]))


def week_of(records: Records, person: str = "") -> dict[str, str]:
    """The weekly hours of one person, or of those without a name: of every day as text."""
    found: dict[str, list[str]] = {day: [] for day in DAYS}
    own = [window for window in records.workshop.attendance.weekly if window.person == person]
    for window in sorted(own, key=lambda w: w.since):
        until = "24:00" if f"{window.until:%H:%M}" == "00:00" else f"{window.until:%H:%M}"
        for day in window.days:
            found[DAYS[day]].append(f"{window.since:%H:%M}-{until}")
    return {day: ", ".join(windows) for day, windows in found.items()}


def _windows(day: str, text: str) -> list[tuple[str, str]]:
    made = []
    for piece in text.replace(";", ",").replace("\u2013", "-").split(","):
        if not piece.strip():
            continue
        since, dash, until = piece.partition("-")
        if not dash:
            raise RecordError(
                f"attendance on {day}: {piece.strip()!r} is not a span of hours.",
                where="workshop.toml",
                next_step="Write it like 17:30-22:30.",
            )
        made.append((_padded(since), _padded(until)))
    return made


def _padded(text: str) -> str:
    hour, colon, minute = text.strip().partition(":")
    return f"{hour.zfill(2)}:{minute if colon else '00'}"


def _clock(value: Any) -> str:
    return value.strftime("%H:%M") if hasattr(value, "strftime") else str(value)


def _rows(doc: TOMLDocument, kind: str) -> Any:
    rows = doc.get(kind)
    if not isinstance(rows, AoT):
        doc[kind] = tomlkit.aot()
    return doc[kind]


def _place(doc: TOMLDocument, kind: str, row: int, name: str | None) -> int:
    """Where a row stands; rows before it may have come or gone since the page showed it."""
    if name is None:
        return row
    names = [str(one.get("name", "")) for one in _rows(doc, kind)]
    if row < len(names) and row >= 0 and names[row] == name:
        return row
    if names.count(name) != 1:
        raise RecordError(f"there is no {kind} {name!r} any more.", where="workshop.toml")
    return names.index(name)


def _at(doc: TOMLDocument, kind: str, row: int) -> Any:
    rows = _rows(doc, kind)
    if not isinstance(row, int) or not 0 <= row < len(rows):
        raise RecordError(f"there is no {kind} {row}.", where="workshop.toml")
    return rows[row]


def _keys(kind: str) -> tuple[str, ...]:
    if kind not in ROWS:
        raise RecordError(f"{kind!r} is not one of: {', '.join(ROWS)}.", where="workshop.toml")
    return ROWS[kind]


def _written(key: str, value: Any) -> Any:
    """A value as the file has it: a table on one line, a day that is no text."""
    if isinstance(value, dict):
        made = tomlkit.inline_table()
        made.update(value)
        return made
    return moment_of(value, key) if key in _MOMENTS else value


def _shown(value: Any) -> str:
    if isinstance(value, list):
        return ", ".join(str(one) for one in value) or say("none")
    return shown(value)
