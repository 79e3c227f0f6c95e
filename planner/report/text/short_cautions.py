"""Cautions in a few words each, for somebody who stands beside the printers."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from textwrap import shorten

NAMES = "{names}"
MOST = 110  # characters of a line that the table does not hold


def short_cautions(lines: Iterable[str]) -> tuple[str, ...]:
    """Those of a plan's cautions that matter beside a printer, shortly.

    A line that the table does not hold (of another version) is told by its first sentence.
    """
    found = [_short(line) for line in lines]
    return tuple(dict.fromkeys(text for text in found if text))


def _short(line: str) -> str:
    for whole, short in _table():
        if (match := whole.fullmatch(line)) is not None:
            return short.replace(NAMES, match.groupdict().get("names", ""))
    first = line.partition(". ")[0].rstrip(".") + "."
    return shorten(first, MOST, placeholder=" ...")


@cache
def _table() -> tuple[tuple[re.Pattern[str], str], ...]:
    """Every caution as a pattern, with what it is in short; empty where it can wait."""
    text = (files("planner") / "data" / "cautions.toml").read_text(encoding="utf-8")
    return tuple(
        (re.compile(re.escape(one["text"]).replace(re.escape(NAMES), "(?P<names>.+)")), one.get("short", ""))
        for one in tomllib.loads(text)["caution"]
    )
