"""JSON objects that know where they stand, so that what is wrong in a file can be named."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date, datetime
from typing import Any, NoReturn

from planner.errors import RecordError


class Node:
    """A JSON object with the place where it stands, so that what is wrong can be named."""

    def __init__(self, file: str, where: str, value: Any) -> None:
        self.file, self.where = file, where
        if not isinstance(value, dict):
            self.refuse("", value, "an object")
        self.value: dict[str, Any] = value

    def refuse(self, key: str, value: object, wanted: str) -> NoReturn:
        """Refuse a value."""
        place = f"{self.where}.{key}".strip(".") or "the file"
        raise RecordError(
            f"{place} = {str(value)[:60]!r} must be {wanted}.",
            where=self.file,
            next_step="Give the plan.json of an earlier plan, unchanged but for its marks.",
        )

    def get(self, key: str) -> Any:
        """A value that must be there."""
        if key not in self.value:
            self.refuse(key, "nothing", "given")
        return self.value[key]

    def text(self, key: str) -> str:
        """A text of sane length."""
        value = self.get(key)
        if not isinstance(value, str) or len(value) > 1000:
            self.refuse(key, value, "a text")
        return value

    def optional_text(self, key: str) -> str | None:
        """A text, or nothing."""
        return None if self.value.get(key) is None else self.text(key)

    def number(self, key: str) -> float:
        """A finite number from 0 on."""
        value = self.signed(key)
        if value < 0.0:
            self.refuse(key, value, "a number that is not below zero")
        return value

    def signed(self, key: str) -> float:
        """A finite number, below zero too."""
        value = self.get(key)
        if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
            self.refuse(key, value, "a number")
        return float(value)

    def optional_signed(self, key: str) -> float | None:
        """A finite number, or nothing."""
        return None if self.value.get(key) is None else self.signed(key)

    def flag(self, key: str) -> bool:
        """True or false."""
        value = self.get(key)
        if not isinstance(value, bool):
            self.refuse(key, value, "true or false")
        return value

    def moment(self, key: str) -> datetime:
        """A date and time with offset."""
        text = self.text(key)
        try:
            moment = datetime.fromisoformat(text)
        except ValueError:
            self.refuse(key, text, "a date and time")
        if moment.tzinfo is None:
            self.refuse(key, text, "a date and time with offset")
        return moment

    def items(self, key: str) -> list[Any]:
        """A list."""
        value = self.get(key)
        if not isinstance(value, list):
            self.refuse(key, value, "a list")
        return value

    def nodes(self, key: str, *, optional: bool = False) -> Iterator[Node]:
        """The objects of a list."""
        if optional and self.value.get(key) is None:
            return
        for n, value in enumerate(self.items(key)):
            yield Node(self.file, f"{self.where}.{key}[{n}]".strip("."), value)

    def node(self, key: str) -> Node:
        """An object inside."""
        return Node(self.file, f"{self.where}.{key}".strip("."), self.get(key))

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of texts."""
        values = self.items(key)
        if any(not isinstance(value, str) for value in values):
            self.refuse(key, values, "a list of texts")
        return tuple(values)

    def texts_by_name(self) -> dict[str, str]:
        """Every value as text, by its key."""
        return {key: self.text(key) for key in self.value}

    def day(self, key: str) -> date:
        """A date."""
        text = self.text(key)
        try:
            return date.fromisoformat(text)
        except ValueError:
            self.refuse(key, text, "a date such as 2026-12-05")
