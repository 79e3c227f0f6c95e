"""TOML files with the line of every key, so that a message can point at it."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

from planner.errors import RecordError

SIZE_LIMIT_BYTES = 5_000_000
DEEPEST = 50
LARGEST = 2**63 - 1
FIRST_YEAR, LAST_YEAR = 1970, 2200

# Nothing in it can be read in two ways: blanks without end are looked at once.
_HEADER = re.compile(r"^\s*(\[\[?)([^\[\]]+)\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"""^\s*(?:"([^"]*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*(?:=|\.)""")

# A table is found by its header path and, in an array of tables, its place in it.
Place = tuple[str, int]


@dataclass(frozen=True)
class TomlFile:
    """The name for messages, the text and the values of one file."""

    name: str
    text: str
    values: dict[str, Any]

    @cached_property
    def _lines(self) -> dict[tuple[str, int, str], int]:
        """Line numbers by (header, place, key); the header itself under the key ``""``."""
        found: dict[tuple[str, int, str], int] = {}
        counts: dict[str, int] = {}
        header, place = "", 0
        for number, line in enumerate(self.text.splitlines(), start=1):
            if match := _HEADER.match(line):
                header = ".".join(piece.strip().strip("\"'") for piece in match.group(2).split("."))
                place = counts.get(header, 0) if match.group(1) == "[[" else 0
                counts[header] = place + 1
                found.setdefault((header, place, ""), number)
            elif match := _KEY.match(line):
                key = next(group for group in match.groups() if group is not None)
                found.setdefault((header, place, key), number)
        return found

    def line(self, place: Place, key: str = "") -> int | None:
        """Line of a key in a table, else that of the table's header, else ``None``."""
        return self._lines.get((*place, key)) or self._lines.get((*place, ""))


def read_toml(path: Path) -> TomlFile:
    """Read a TOML file.

    Raises
    ------
    RecordError
        when it cannot be opened, is too large, is not UTF-8, or is not TOML (with line and column)
    """
    try:
        size = path.stat().st_size
        if size > SIZE_LIMIT_BYTES:
            raise RecordError(f"the file has {size} bytes; the limit is {SIZE_LIMIT_BYTES}.", where=path.name)
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise RecordError(
            f"byte {error.start} is not UTF-8 text.", where=path.name, next_step="Save the file as UTF-8."
        ) from error
    except OSError as error:
        reason = error.strerror or str(error)
        raise RecordError(f"the file cannot be read ({reason}).", where=str(path)) from error
    return parse_toml(text, path.name)


def parse_toml(text: str, name: str) -> TomlFile:
    """Parse TOML text; ``name`` is what messages call it.

    Raises
    ------
    RecordError
        when it is not TOML, with line and column
    """
    try:
        values = tomllib.loads(text)
        _refuse_beyond(values, name, "", 0)
        return TomlFile(name, text, values)
    except tomllib.TOMLDecodeError as error:
        raise RecordError(
            f"this is not valid TOML: {error}.",
            where=name,
            next_step="Text stands in double quotes; a table begins with [name] or [[name]].",
        ) from error
    except RecursionError as error:
        raise RecordError("lists or tables lie too deep within one another.", where=name) from error
    except ValueError as error:
        raise RecordError(
            "a number has more digits than any computer counts.", where=name, next_step="Write it shorter."
        ) from error


def _refuse_beyond(value: object, name: str, key: str, depth: int) -> None:
    """No value that a later step could not hold: whole numbers beyond 64 bits, years without a calendar."""
    wrong = ""
    if isinstance(value, dict | list) and depth == DEEPEST:
        wrong = f"lists or tables lie more than {DEEPEST} deep within one another."
    elif isinstance(value, int) and abs(value) > LARGEST:
        wrong = f"a whole number is beyond {LARGEST}."
    elif isinstance(value, date) and not FIRST_YEAR <= value.year <= LAST_YEAR:
        wrong = f"the year {value.year} is not between {FIRST_YEAR} and {LAST_YEAR}."
    if wrong:
        raise RecordError(wrong, where=f"{name}, {key[:60]}")
    if isinstance(value, dict):
        for inner, own in value.items():
            _refuse_beyond(own, name, inner, depth + 1)
    elif isinstance(value, list):
        for own in value:
            _refuse_beyond(own, name, key, depth + 1)
