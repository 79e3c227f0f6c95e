"""``workshop.toml`` and the built-in rows: records into printers, filaments, spools, attendance."""

from __future__ import annotations

import dataclasses
import difflib
from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any

from planner.errors import RecordError
from planner.io.records.record import Record
from planner.io.toml_file import TomlFile
from planner.model.attendance import DAYS, Absence, Attendance, DateWindow, WeeklyWindow
from planner.model.away import Away
from planner.model.colour import MOST_COLOUR, colour_word
from planner.model.drying import Dryer
from planner.model.filament import Filament, Spool
from planner.model.printer import Bed, Motion, Outline, Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop

_PRINTER_OWN = frozenset(
    {"name", "kind", "bed", "motion", "wear_minor_per_hour", "minutes_of", "away", "fitted", "mounted"}
)
_SAME_KIND = frozenset(
    {"loaded", "loaded_colour", "source", "away"}
)  # what does not make another kind of a machine
_FILAMENT_MADE = frozenset({"name", "colour", "of"})  # what is not written under the key of its field
_FILAMENT_MONEY = {"price": "price_minor", "price_low": "price_low_minor", "price_high": "price_high_minor"}
_MAX_COUNT = 500


def read_recipe(record: Record, name: str, known: Mapping[str, Recipe]) -> Recipe:
    """A recipe from its table; ``like`` takes the keys that are not written from another."""
    given = record.fields(Recipe, skip=frozenset({"name"}))
    if given.get("support") == "generated":  # as older files call it
        given["support"] = "everywhere"
    if "wall_mm" in given and "bead_width_mm" in given:
        record.wrong(
            "wall_mm",
            "wall_mm and bead_width_mm say the same thing twice.",
            "Leave one out: wall_mm is what calipers read on a skin of one wall, bead_width_mm the width that"
            " the bead is set to.",
        )
    if "bead_width_mm" in given:
        given["wall_mm"] = None
    base: Recipe | None = _like(record, known, "recipe")
    record.done()
    with record.located():
        if base is not None:
            return dataclasses.replace(base, name=name, **{"source": "given", **given})
        return Recipe(name=name, **given)


def read_filament(
    record: Record, known: Mapping[str, Filament], currency: str, foaming: Filament | None = None
) -> Filament:
    """A filament from its table; what is deposited follows the solid density unless it is given.

    Parameters
    ----------
    foaming : one that foams, whose limit of pieces and its reason all get that foam and name none
    """
    given, made = _filament(record, known, currency)
    if "most_pieces" in given:  # a number of one's own has not the built-in reason
        return dataclasses.replace(made, most_pieces_why=given.get("most_pieces_why", ""))
    if not made.foaming:
        return (
            dataclasses.replace(made, most_pieces=None, most_pieces_why="") if made.most_pieces_why else made
        )
    if made.most_pieces is None and foaming is not None:
        return dataclasses.replace(
            made, most_pieces=foaming.most_pieces, most_pieces_why=foaming.most_pieces_why
        )
    return made


def _filament(
    record: Record, known: Mapping[str, Filament], currency: str
) -> tuple[Mapping[str, Any], Filament]:
    """The keys that are given, and the filament that they make."""
    name = record.required("name", str)
    given: dict[str, Any] = record.fields(Filament, skip=_FILAMENT_MADE | set(_FILAMENT_MONEY.values()))
    for key, field in _FILAMENT_MONEY.items():
        if record.has(key):
            given[field] = record.money(key, currency)
    if record.has("foam_curve"):
        given["foam_curve"] = _pairs(record, "foam_curve")
    given |= read_away(record)
    base = _like(record, known, "filament") or known.get(name)
    record.done()
    with record.located():
        if base is not None:
            followed = _densities(base, given)
            made: Filament = dataclasses.replace(base, name=name, **{"source": "given", **followed, **given})
            foams = "nozzle_c" in given and "deposited_g_per_cm3" not in given and made.foam_curve
            return given, made.at_nozzle(made.nozzle_c) if foams else made
        for key in ("material", "solid_g_per_cm3"):
            if key not in given:
                record.wrong("", f"filament {name!r} lacks the key {key!r}.", 'Or begin with like = "PLA".')
        told = "deposited_g_per_cm3" in given
        given.setdefault("deposited_g_per_cm3", given["solid_g_per_cm3"])
        own = Filament(name=name, **given)
        if not own.foaming or told:
            return given, own
        if not own.foam_curve:
            record.wrong(
                "foaming",
                f"filament {name!r} foams, and nothing says how far.",
                "Add deposited_g_per_cm3, or foam_curve = [[nozzle C, g/cm3], ...].",
            )
        return given, own.at_nozzle(own.nozzle_c)


def _densities(base: Filament, given: Mapping[str, Any]) -> dict[str, Any]:
    """What an own solid density does to what the filament is like: all of it scales, foamed or not."""
    if "solid_g_per_cm3" not in given:
        return {}
    solid = given["solid_g_per_cm3"]
    share = solid / base.solid_g_per_cm3
    return {  # never above the solid density by a rounding
        "deposited_g_per_cm3": min(solid, base.deposited_g_per_cm3 * share),
        "foam_curve": tuple((celsius, min(solid, density * share)) for celsius, density in base.foam_curve),
    }


def _pairs(record: Record, key: str) -> tuple[tuple[float, float], ...]:
    rows = record.take(key, list)
    good = all(
        isinstance(r, list) and len(r) == 2 and all(isinstance(v, (int, float)) for v in r) for r in rows
    )
    if not good:
        record.wrong(key, f"{record.label}.{key} must be a list of [number, number] pairs.")
    return tuple((float(a), float(b)) for a, b in rows)


def _like(record: Record, known: Mapping[str, Any], what: str) -> Any:
    name = record.take("like", str)
    if name is None:
        return None
    if name not in known:
        record.wrong("like", f"there is no {what} {name!r} to be like.", f"Known: {', '.join(known)}.")
    return known[name]


def read_printers(record: Record, known: Mapping[str, Printer], currency: str) -> list[Printer]:
    """One table, ``count`` machines; numbered names when there is more than one."""
    name = record.required("name", str)
    base: Printer | None = _like(record, known, "printer")
    count = record.take("count", int, 1)
    if not 1 <= count <= _MAX_COUNT:
        record.wrong("count", f"{record.label}.count = {count} must be between 1 and {_MAX_COUNT}.")
    given: dict[str, Any] = record.fields(Printer, skip=_PRINTER_OWN)
    given |= read_away(record)
    if "loaded_colour" in given:
        given["loaded_colour"] = read_colour(record, "loaded_colour", given["loaded_colour"])
    if record.has("wear_per_hour"):
        given["wear_minor_per_hour"] = record.money("wear_per_hour", currency)
    if (bed := record.table("bed")) is not None:
        given["bed"] = _bed(bed, base.bed if base else Bed())
    if (motion := record.table("motion")) is not None:
        fields = motion.fields(Motion)
        motion.done()
        with motion.located():
            given["motion"] = dataclasses.replace(base.motion if base else Motion(), **fields)
    record.has("kind")
    kind = record.take("kind", str, base.kind if base and not set(given) - _SAME_KIND else name)
    record.done()
    with record.located():
        names = [name] if count == 1 else [f"{name} {at}" for at in range(1, count + 1)]
        if base is not None:
            return [dataclasses.replace(base, name=one, kind=kind, **given) for one in names]
        return [Printer(name=one, kind=kind, **given) for one in names]


def _bed(record: Record, base: Bed) -> Bed:
    given: dict[str, Any] = record.fields(Bed, skip=frozenset({"outline", "keep_outs"}))
    if record.has("outline"):
        given["outline"] = _ring(record, "outline", record.take("outline", list))
    if record.has("keep_outs"):
        given["keep_outs"] = tuple(
            _ring(record, "keep_outs", ring) for ring in record.take("keep_outs", list)
        )
    record.done()
    with record.located():
        return dataclasses.replace(base, **given)


def _ring(record: Record, key: str, points: Any) -> Outline:
    if not isinstance(points, list) or any(
        not isinstance(p, list)
        or len(p) != 2
        or any(isinstance(v, bool) or not isinstance(v, (int, float)) for v in p)
        for p in points
    ):
        record.wrong(key, f"{record.label}.{key} must be made of [x, y] points in mm.")
    return tuple((float(x), float(y)) for x, y in points)


def read_attendance(top: Record) -> Attendance:
    """Weekly and dated windows, each perhaps of one person; days away, time zone and persons."""
    weekly: list[WeeklyWindow] = []
    dates: list[DateWindow] = []
    for record in top.tables("attendance"):
        since, until = _time(record, "from"), _time(record, "until", "to")
        day = record.take("date", date)
        days = record.texts("days")
        person = record.take("person", str, "").strip()
        record.done()
        with record.located():
            if day is not None:
                dates.append(DateWindow(day, since, until, person))
            else:
                weekly.append(WeeklyWindow(_days(record, days), since, until, person))
    away = top.take("away", list, [])
    if any(type(day) is not date for day in away):
        top.wrong("away", "away must be a list of dates.", "Write them like away = [2026-12-24, 2026-12-25].")
    zone = top.take("time_zone", str, "UTC")
    persons = top.take("persons", int, 1)
    absences = tuple(_absence(record) for record in top.tables("absence"))
    with top.located():
        return Attendance(tuple(weekly), tuple(dates), tuple(away), zone, persons, absences)


def _absence(record: Record) -> Absence:
    since = record.required("from", date)
    until = record.take("until", date, since)
    person = record.take("person", str, "").strip()
    record.done()
    with record.located():
        return Absence(since, until, person)


def read_away(record: Record) -> dict[str, tuple[Away, ...]]:
    """``away`` of a printer, a filament or a spool: a list of spans; nothing where it is not written."""
    rows = record.take("away", list)
    if rows is None:
        return {}
    how = 'Write it like away = [{ from = 2026-12-03, until = 2026-12-05, why = "repair" }].'
    found = []
    for row in rows:
        if not isinstance(row, dict):
            record.wrong("away", f"{record.label}.away must be a list of tables with from and until.", how)
        one = record.inside("away", row)
        since, until = one.required("from", (date, datetime)), one.take("until", (date, datetime))
        why = one.take("why", str, "")
        one.done()
        with one.located():
            found.append(Away(since, until, why))
    return {"away": tuple(found)}


def _days(record: Record, days: tuple[str, ...] | None) -> tuple[int, ...]:
    if days is None:
        return tuple(range(7))
    for day in days:
        if day not in DAYS:
            record.wrong("days", f"the day {day!r} is not one of: {', '.join(DAYS)}.")
    return tuple(sorted({DAYS.index(day) for day in days}))


def _time(record: Record, *keys: str) -> time:
    key = next((key for key in keys if record.has(key)), keys[0])
    value = record.required(key, str) if not isinstance(record.values.get(key), time) else record.values[key]
    if isinstance(value, time):
        return value
    try:
        return time(0) if value == "24:00" else time.fromisoformat(value)
    except ValueError:
        record.wrong(key, f"{record.label}.{key} = {value!r} is not a time of day.", 'Write it like "17:30".')


def read_colour(record: Record, key: str, colour: Any) -> str:
    """A colour as it is compared, refused where it is none."""
    found = colour_word(colour)
    if found is None:
        told = f"the colour {colour!r} is no word of at most {MOST_COLOUR} letters."
        record.wrong(key, f"{record.label}.{key}: {told}", 'Write it like "red" or "signal orange".')
    return found


def read_spool(record: Record, currency: str) -> Spool:
    """A reel on the shelf."""
    given = record.fields(Spool, skip=frozenset({"price_minor"}))
    price = record.money("price", currency)
    if (since := record.take("at_hand_from", (date, datetime))) is not None:
        given["at_hand_from"] = since
    if (dried := record.take("dried", (date, datetime))) is not None:
        given["dried"] = dried
    given |= read_away(record)
    if "colour" in given:
        given["colour"] = read_colour(record, "colour", given["colour"])
    for key in ("name", "filament", "grams_left"):
        record.required(key, float if key == "grams_left" else str)
    record.done()
    with record.located():
        return Spool(**given, price_minor=price)


def _dryer(record: Record) -> Dryer:
    given: dict[str, Any] = record.fields(Dryer)
    record.done()
    with record.located():
        return Dryer(**given)


def _refuse_unknown_filaments(record: Record, printer: Printer, known: Mapping[str, Filament]) -> None:
    for key, names in (("loaded", (printer.loaded,)), ("filaments", printer.filaments)):
        wrong = next((name for name in names if name is not None and name not in known), None)
        if wrong is not None:
            near = difflib.get_close_matches(wrong, list(known), n=1)
            record.wrong(
                key,
                f"printer {printer.name!r}: {key} names {wrong!r}, which no filament is called.",
                f"{f'Did you mean {near[0]!r}? ' if near else ''}Known: {', '.join(known)}.",
            )


def read_workshop(
    file: TomlFile, printers: Mapping[str, Printer], filaments: Mapping[str, Filament]
) -> Workshop:
    """The whole of ``workshop.toml`` on top of the built-in rows.

    Raises
    ------
    RecordError
        for a wrong or unknown key, naming its line and the nearest right one
    """
    top = Record(file, file.values, ("", 0), "")
    currency = top.take("currency", str, "EUR")
    own = dict(filaments)
    foaming = next((filament for filament in filaments.values() if filament.foaming), None)
    for record in top.tables("filament"):
        filament = read_filament(record, own, currency, foaming)
        own[filament.name] = filament
    machines: list[Printer] = []
    for record in top.tables("printer"):
        made = read_printers(record, printers, currency)
        _refuse_unknown_filaments(record, made[0], own)
        machines += made
    spools = [read_spool(record, currency) for record in top.tables("spool")]
    for spool in spools:
        if spool.filament not in own:
            raise RecordError(
                f"spool {spool.name!r} holds {spool.filament!r}, which no filament is called.",
                where=file.name,
                next_step=f"Known: {', '.join(own)}.",
            )
    given = top.fields(Workshop, skip=frozenset({"currency"}))
    if (dryer := top.table("dryer")) is not None:
        given["dryer"] = _dryer(dryer)
    energy = top.price("energy_price", currency)
    person = top.price("person_price", currency)
    attendance = read_attendance(top)
    top.done()
    with top.located():
        return Workshop(
            tuple(machines) or (printers["desktop 220"],),
            tuple(own.values()),
            tuple(spools),
            attendance,
            currency,
            energy,
            person,
            **given,
        )
