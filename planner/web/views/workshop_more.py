"""What rows of the workshop hold beside their first fields: nozzles, plates, drying, absences."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from planner.api import Records
from planner.model.attendance import Attendance
from planner.model.filament import Filament
from planner.model.fit import Nozzle
from planner.model.printer import Printer
from planner.web.edits.edit_absence import who_is
from planner.web.edits.edit_away import KINDS
from planner.web.edits.moments import moment_shown
from planner.web.state import State
from planner.web.views.shown import workshop_rows
from planner.web.words import say

Rows = Mapping[str, list[dict[str, Any]]]


def more_shown(state: State) -> dict[str, Any]:
    """By name: printers and filaments as they hold, and in words; then absences, and who may have one."""
    records = state.records
    if records is None:
        return {"printer": {}, "filament": {}, "told": {}, "aways": [], "may_be_away": {}, "absences": []}
    rows = workshop_rows(state)
    machines = {one.name: one for one in records.workshop.printers}
    printers = {
        row["name"]: found
        for row in rows["printer"]
        if (found := machines.get(row["name"]) or machines.get(f"{row['name']} 1")) is not None
    }
    filaments = {one.name: one for one in records.workshop.filaments}
    told = {("printer", name): printer_told(one) for name, one in printers.items()}
    told |= {("filament", name): filament_told(one) for name, one in filaments.items()}
    return {
        "printer": printers,
        "filament": filaments,
        "told": told,
        "aways": aways_of(rows),
        "may_be_away": may_be_away(records, rows),
        "absences": absences_of(records.workshop.attendance),
    }


def printer_told(printer: Printer) -> str:
    """What is on it, and what it has beside, as ``0.4 mm, textured; also 0.6 mm, smooth``."""
    first, *others = map(_nozzle, printer.own_nozzles)
    on, also = _listed([first, printer.plate]), _listed([*others, *printer.plates])
    return f"{on}; {say('also', what=also)}" if also else on


def filament_told(filament: Filament) -> str:
    """Whether it is dried, and what its beds ask of a printer; empty where it asks for nothing."""
    found = []
    if filament.needs_drying:
        found.append(say("told_dried"))
    if filament.dry_c is not None and filament.dry_hours is not None:
        found.append(say("told_drying", c=f"{filament.dry_c:g}", h=f"{filament.dry_hours:g}"))
    if filament.open_hours is not None:
        found.append(say("told_open", h=f"{filament.open_hours:g}"))
    if filament.nozzle_mm is not None:
        found.append(say("told_nozzle", mm=f"{filament.nozzle_mm:g}"))
    if filament.hardened_nozzle:
        found.append(say("told_hardened"))
    return _listed([*found, filament.plate])


def aways_of(rows: Rows) -> list[dict[str, str]]:
    """Every span of every row, in the order of the file."""
    return [
        {
            "kind": kind,
            "name": str(row["name"]),
            "since": moment_shown(span["from"]),
            "until": moment_shown(span["until"]) if "until" in span else "",
            "why": str(span.get("why", "")),
        }
        for kind in KINDS
        for row in rows[kind]
        for span in row.get("away", ())
    ]


def absences_of(attendance: Attendance) -> list[dict[str, Any]]:
    """Spans of days on which a person, or everybody, is not there, in the order of the file."""
    return [
        {
            "row": at,
            "person": one.person,
            "who": who_is(one.person),
            "since": str(one.since),
            "until": str(one.until),
        }
        for at, one in enumerate(attendance.absences)
    ]


def may_be_away(records: Records, rows: Rows) -> dict[str, list[str]]:
    """Names by kind: rows of the file, and filaments that parts are printed in."""
    names = {kind: _once(str(row["name"]) for row in rows[kind]) for kind in KINDS}
    used = (part.filament for part in records.airframe.parts)
    names["filament"] = _once([*names["filament"], *used])
    return {kind: found for kind, found in names.items() if found}


def _nozzle(nozzle: Nozzle) -> str:
    return f"{nozzle.mm:g} mm" + (f" {say('key_nozzle_hardened')}" if nozzle.hardened else "")


def _once(names: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(names))


def _listed(words: Iterable[str]) -> str:
    return ", ".join(word for word in words if word)
