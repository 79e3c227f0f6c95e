"""One table of a TOML file, read key by key; what is left over is a mistake that gets named."""

from __future__ import annotations

import dataclasses
import difflib
import types
import typing
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from decimal import Decimal
from functools import cache
from typing import Any, NoReturn

from planner.errors import InputError, RecordError
from planner.io.toml_file import Place, TomlFile
from planner.units import parse_money, to_minor

_WORDS = {
    str: "text in quotes",
    float: "a number",
    int: "a whole number",
    bool: "true or false",
    date: "a date such as 2026-12-05",
    datetime: "a date with a time such as 2026-12-05T17:30",
}


class Record:
    """Takes the keys of one table; ``done`` refuses those that nobody asked for.

    Parameters
    ----------
    file : where the table stands, for messages
    values : its keys
    place : header path and index that find its lines
    label : what messages call the table
    inline_key : key of the surrounding table that holds this one, when it is written inline
    """

    def __init__(
        self, file: TomlFile, values: dict[str, Any], place: Place, label: str, *, inline_key: str = ""
    ) -> None:
        self.file = file
        self.values = values
        self.place = place
        self.label = label
        self._inline_key = inline_key
        self._known: set[str] = set()

    def has(self, key: str) -> bool:
        """Whether the key was written."""
        self._known.add(key)
        return key in self.values

    def wrong(self, key: str, what: str, next_step: str = "") -> NoReturn:
        """Refuse the value of a key, naming file, line and key."""
        raise RecordError(what, where=self._where(key), next_step=next_step)

    def _named(self, key: str) -> str:
        """A key with its table, as messages call it."""
        return f"{self.label}.{key}" if self.label else key

    def _where(self, key: str = "") -> str:
        line = self.file.line(self.place, self._inline_key or key)
        if line is None and self.place == ("", 0):
            line = self.file.line((key, 0))
        return self.file.name + (f", line {line}" if line else "")

    def take(self, key: str, kind: type | tuple[type, ...], default: Any = None) -> Any:
        """The value of a key, checked for its kind; the default when it was not written."""
        if not self.has(key):
            return default
        value = self.values[key]
        allowed = kind if isinstance(kind, tuple) else (kind,)
        if float in allowed and isinstance(value, int) and not isinstance(value, bool):
            return float(value)
        if type(value) in allowed:
            return value
        wanted = " or ".join(_WORDS.get(one, one.__name__) for one in allowed)
        self.wrong(key, f"{self._named(key)} = {value!r} must be {wanted}.")

    def required(self, key: str, kind: type | tuple[type, ...]) -> Any:
        """The value of a key that must be there."""
        if not self.has(key):
            near = difflib.get_close_matches(key, list(self.values), n=1, cutoff=0.6)
            hint = f"Did you mean {key!r} by {near[0]!r}?" if near else f"Add {key} = ..."
            self.wrong("", f"{self.label} lacks the key {key!r}.", hint)
        return self.take(key, kind)

    def money(self, key: str, currency: str) -> int | None:
        """Minor units of an amount such as ``"14.50 EUR"`` in the one currency of the job."""
        amount = self.price(key, currency)
        return None if amount is None else to_minor(amount, currency)

    def price(self, key: str, currency: str) -> Decimal | None:
        """An amount as written; refused in another currency than the job's, and beyond what is counted."""
        text = self.take(key, str)
        if text is None:
            return None
        try:
            amount, code = parse_money(text)
        except InputError as error:
            self.wrong(key, f"{self._named(key)} = {error.what}", error.next_step)
        if code != currency:
            self.wrong(
                key,
                f"{self._named(key)} is in {code}, but the workshop counts in {currency}.",
                f"Write the amount in {currency}, or change currency in workshop.toml.",
            )
        if amount < 0:
            self.wrong(key, f"{self._named(key)} = {text!r} is below zero.")
        try:
            to_minor(amount, currency)
        except InputError as error:
            self.wrong(key, f"{self._named(key)} = {text!r}: {error.what}", error.next_step)
        return amount

    def numbers(self, key: str, count: int | None = None) -> tuple[float, ...] | None:
        """A list of numbers, of a given length where there is one."""
        values = self.take(key, list)
        if values is None:
            return None
        if any(isinstance(v, bool) or not isinstance(v, (int, float)) for v in values):
            self.wrong(key, f"{self._named(key)} must be a list of numbers.")
        if count is not None and len(values) != count:
            self.wrong(key, f"{self._named(key)} has {len(values)} numbers; it needs {count}.")
        return tuple(float(v) for v in values)

    def texts(self, key: str) -> tuple[str, ...] | None:
        """A list of texts."""
        values = self.take(key, list)
        if values is None:
            return None
        if any(not isinstance(v, str) for v in values):
            self.wrong(key, f"{self._named(key)} must be a list of texts in quotes.")
        return tuple(values)

    def table(self, key: str) -> Record | None:
        """A table inside this one, written inline or under its own header."""
        values = self.take(key, dict)
        if values is None:
            return None
        header = f"{self.place[0]}.{key}".lstrip(".")
        own = self.file.line((header, 0)) is not None and self.place[1] == 0
        label = self._named(key)
        if own:
            return Record(self.file, values, (header, 0), label)
        return Record(self.file, values, self.place, label, inline_key=self._inline_key or key)

    def inside(self, key: str, values: dict[str, Any]) -> Record:
        """A table in a list that is written inline under a key."""
        return Record(self.file, values, self.place, self._named(key), inline_key=self._inline_key or key)

    def tables(self, key: str) -> list[Record]:
        """The tables of an array ``[[key]]``."""
        rows = self.values.get(key, []) if self.has(key) else []
        if not isinstance(rows, list) or any(not isinstance(row, dict) for row in rows):
            self.wrong(key, f"{key} must be written as [[{key}]] tables.")
        return [Record(self.file, row, (key, at), f"{key} {at + 1}") for at, row in enumerate(rows)]

    def fields(self, kind: type, *, skip: frozenset[str] = frozenset()) -> dict[str, Any]:
        """The simple fields of a dataclass that were written, by their own names."""
        found: dict[str, Any] = {}
        for name, accepted in _simple_fields(kind).items():
            if name not in skip and self.has(name):
                found[name] = self.texts(name) if tuple in accepted else self.take(name, accepted)
        return found

    def done(self) -> None:
        """Refuse keys that nothing has asked for, with the nearest right one."""
        for key in self.values:
            if key not in self._known:
                near = difflib.get_close_matches(key[:80], sorted(self._known), n=1, cutoff=0.0)
                known = ", ".join(sorted(self._known))
                hint = f"Did you mean {near[0]!r}? Known keys: {known}." if near else ""
                self.wrong(key, f"{self.label or 'the file'} has no key {key!r}.", hint)

    @contextmanager
    def located(self) -> Iterator[None]:
        """Give the errors of the values that are made inside the line that they are about."""
        try:
            yield
        except InputError as error:
            if error.where:
                raise
            # the end of a key may be a key of its own
            said = [key for key in self.values if key in error.what]
            key = next((key for key in said if not any(key in other for other in said if other != key)), "")
            raise RecordError(error.what, where=self._where(key), next_step=error.next_step) from error


@cache
def _simple_fields(kind: type) -> dict[str, tuple[type, ...]]:
    """Fields whose values TOML can hold directly: numbers, texts, booleans, lists of texts."""
    found: dict[str, tuple[type, ...]] = {}
    hints = typing.get_type_hints(kind)
    for field in dataclasses.fields(kind):
        hint = hints[field.name]
        options = typing.get_args(hint) if isinstance(hint, types.UnionType) else (hint,)
        if hint == tuple[str, ...]:
            found[field.name] = (tuple,)
        elif typing.get_origin(hint) is typing.Literal:
            found[field.name] = (str,)
        elif all(option in (int, float, str, bool, type(None)) for option in options):
            found[field.name] = tuple(o for o in options if o is not type(None))
    return found
