"""Numbers on the command line: plain digits, as prices are written; with the limits in the sentence."""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Callable

import typer

_WHOLE = re.compile(r"\s*[+-]?[0-9]{1,18}\s*")
_NUMBER = re.compile(r"\s*[+-]?[0-9]{1,18}(?:\.[0-9]{0,18})?(?:[eE][+-]?[0-9]{1,3})?\s*")
_LONGEST = 40  # characters of a wrong value that are shown


def whole(low: int, high: int) -> Callable[[str], int]:
    """Read a whole number between two limits, both allowed.

    Parameters
    ----------
    low, high : the least and the most that is taken
    """

    def read(text: str) -> int:
        words = str(text)
        if not _WHOLE.fullmatch(words) or not low <= int(words) <= high:
            raise typer.BadParameter(f"{_shown(words)} is not a whole number from {low} to {high}.")
        return int(words)

    return read


def number(low: float, high: float = math.inf) -> Callable[[str], float]:
    """Read a finite number between two limits, both allowed."""
    limits = f"from {low:g} to {high:g}" if high < math.inf else f"of {low:g} or more"

    def read(text: str) -> float:
        words = str(text)
        if not _NUMBER.fullmatch(words) or not low <= float(words) <= min(high, sys.float_info.max):
            raise typer.BadParameter(f"{_shown(words)} is not a number {limits}.")
        return float(words)

    return read


def _shown(text: str) -> str:
    return repr(text if len(text) <= _LONGEST else f"{text[:_LONGEST]}...")
