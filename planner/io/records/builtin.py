"""The built-in tables: filaments, printers, recipes, and the workshop that is made of them."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from functools import cache
from importlib import resources
from itertools import chain

from planner.errors import RecordError
from planner.io.records.record import Record
from planner.io.records.workshop_record import read_filament, read_printers, read_recipe
from planner.io.toml_file import TomlFile, parse_toml
from planner.model.filament import Filament
from planner.model.printer import Printer
from planner.model.recipe import Recipe
from planner.model.workshop import Workshop
from planner.plug_ins import FILAMENTS, added

TABLE_CURRENCY = "EUR"
BUILTIN_PRINTER = "desktop 220"


@cache  # the files come with the program
def _table(name: str) -> TomlFile:
    text = resources.files("planner").joinpath("data", name).read_text(encoding="utf-8")
    return parse_toml(text, f"built-in {name}")


def builtin_recipes() -> dict[str, Recipe]:
    """Every built-in recipe by its name."""
    found: dict[str, Recipe] = {}
    file = _table("recipes.toml")
    for record in Record(file, file.values, ("", 0), "").tables("recipe"):
        name = record.required("name", str)
        record.take("date", str)
        found[name] = dataclasses.replace(read_recipe(record, name, found), source=record.take("source", str))
    return found


def builtin_filaments(currency: str = TABLE_CURRENCY) -> dict[str, Filament]:
    """Every built-in filament; prices are left out where the job counts in another currency."""
    found: dict[str, Filament] = {}
    file = _table("filaments.toml")
    top = Record(file, file.values, ("", 0), "")
    foam = top.table("foaming")
    most = foam.fields(Filament) if foam is not None else {}
    for record in chain(top.tables("filament"), _added_filaments(found)):
        record.take("date", str)
        filament = read_filament(record, found, TABLE_CURRENCY)
        if filament.foaming:
            filament = dataclasses.replace(filament, **most)
        if currency != TABLE_CURRENCY:
            filament = dataclasses.replace(
                filament, price_minor=None, price_low_minor=None, price_high_minor=None
            )
        found[filament.name] = filament
    return found


def _added_filaments(known: Mapping[str, Filament]) -> Iterator[Record]:
    """Rows that packages beside this one add; what is built in is never replaced.

    Raises
    ------
    RecordError
        when such a package cannot be loaded, or its rows are wrong; it names the package
    """
    for entry in added(FILAMENTS):
        where = f"filaments of {entry.value}"
        try:
            text = entry.load()
        except Exception as error:  # whatever another package does at its start
            raise RecordError(
                f"they cannot be loaded ({type(error).__name__}: {error}).",
                where=where,
                next_step="Mend or remove that package.",
            ) from error
        if not isinstance(text, str):
            raise RecordError("they are no text.", where=where, next_step="Mend or remove that package.")
        file = parse_toml(text, where)
        for record in Record(file, file.values, ("", 0), "").tables("filament"):
            if record.required("name", str) not in known:
                yield record


def builtin_printers(currency: str = TABLE_CURRENCY) -> dict[str, Printer]:
    """Every built-in printer profile by its name."""
    found: dict[str, Printer] = {}
    file = _table("printers.toml")
    for record in Record(file, file.values, ("", 0), "").tables("printer"):
        record.take("date", str)
        for printer in read_printers(record, found, TABLE_CURRENCY):
            if currency != TABLE_CURRENCY:
                printer = dataclasses.replace(printer, wear_minor_per_hour=None)
            found[printer.name] = printer
    return found


def builtin_workshop(filaments: Mapping[str, Filament], printers: Mapping[str, Printer]) -> Workshop:
    """One generic printer, every built-in filament, an empty shelf, somebody always there."""
    return Workshop((printers[BUILTIN_PRINTER],), tuple(filaments.values()), currency=TABLE_CURRENCY)


def chosen_printers(choice: tuple[str, ...], known: Mapping[str, Printer]) -> tuple[Printer, ...]:
    """Machines from words such as ``"desktop 220:2"``; a printer of the workshop with a count may be meant.

    Without a number all machines of such a printer are taken, else the first so many.

    Raises
    ------
    RecordError
        for an unknown name or a count that is no whole number above zero
    """
    machines: list[Printer] = []
    for word in choice:
        name, _, count_text = word.rpartition(":") if ":" in word else (word, "", "1")
        own = _numbered(name, known) if name not in known else []
        if own and ":" not in word:
            count_text = str(len(own))
        if name not in known and not own:
            raise RecordError(
                f"there is no printer {name!r}.",
                where="--printer",
                next_step=f"Known: {', '.join(sorted(known))}.",
            )
        plain = count_text.isascii() and count_text.isdecimal() and len(count_text) <= 18
        if not plain or not 1 <= int(count_text) <= 500:
            raise RecordError(
                f"the count {count_text[:40]!r} is not a whole number from 1 to 500.",
                where="--printer",
                next_step=f'Write it like --printer "{name}:2".',
            )
        count = int(count_text)
        if own:
            more = range(len(own) + 1, count + 1)
            machines += [*own[:count], *(dataclasses.replace(own[0], name=f"{name} {at}") for at in more)]
            continue
        machines += [
            dataclasses.replace(known[name], name=name if count == 1 else f"{name} {at}")
            for at in range(1, count + 1)
        ]
    return tuple(machines)


def _numbered(name: str, known: Mapping[str, Printer]) -> list[Printer]:
    """The machines of a printer that the workshop lists with a count: ``trio 1``, ``trio 2`` and so on."""
    found: list[Printer] = []
    while (one := known.get(f"{name} {len(found) + 1}")) is not None:
        found.append(one)
    return found
