"""Single values as the record of a plan tells them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any, overload

import msgspec

from planner.model.printer import Outline
from planner.plan_record.values import Moment, Record, Ring
from planner.report.plain import clean
from planner.report.words import Told, local
from planner.units import money_text


@overload
def rounded(value: float, digits: int = 3) -> float: ...
@overload
def rounded(value: float | None, digits: int = 3) -> float | None: ...
def rounded(value: float | None, digits: int = 3) -> float | None:
    """Rounded, and never a negative nought."""
    return None if value is None else round(float(value), digits) + 0.0


def strings(texts: Iterable[str]) -> list[str]:
    """Texts without what no reader should obey."""
    return [clean(text) for text in texts]


def text_or_none(text: str | None) -> str | None:
    """A text, where there is one."""
    return None if text is None else clean(text)


@overload
def money(minor: int, currency: str) -> str: ...
@overload
def money(minor: int | None, currency: str) -> str | None: ...
def money(minor: int | None, currency: str) -> str | None:
    """An amount with its currency, where it is known."""
    return None if minor is None else money_text(minor, currency)


def ring(outline: Outline) -> Ring:
    """The corners of an outline."""
    return [[rounded(x), rounded(y)] for x, y in outline]


def moment(at: datetime, plan: Told) -> Moment:
    """A point in time, in the wall time of the workshop."""
    return Moment(local(at, plan))


def moment_or_none(at: datetime | None, plan: Told) -> Moment | None:
    """A point in time, where there is one."""
    return None if at is None else moment(at, plan)


def builtins(record: Record) -> dict[str, Any]:
    """A record as JSON types, its fields in their order."""
    made: dict[str, Any] = msgspec.to_builtins(record, enc_hook=_told)
    return made


def _told(value: object) -> object:
    if isinstance(value, Moment):
        return str(value)
    for kind in (str, float, int):
        if isinstance(value, kind):  # a number of numpy, a text of a parser
            return kind(value)
    raise TypeError(f"no JSON type: {type(value).__name__}")
