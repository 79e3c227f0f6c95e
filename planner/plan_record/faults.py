"""The first value of a record that is not what its type says: where it stands, and what must stand there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import date
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import msgspec
from msgspec import UnsetType

from planner.plan_record.values import Moment, Record, fields_of, read_custom

WORDS: dict[Any, str] = {
    bool: "true or false",
    str: "a text",
    float: "a number",
    int: "a whole number",
    list: "a list",
    dict: "an object",
    date: "a date such as 2026-12-05",
    Moment: "a date and time with offset",
}


class Fault(ValueError):
    """A value that cannot be used: the place where it stands, and what must stand there."""

    def __init__(self, place: str, value: object, wanted: str) -> None:
        self.place, self.value, self.wanted = place, value, wanted
        super().__init__(f"{place} = {value!r} must be {wanted}")


def first_fault(value: object, hint: Any, place: str = "") -> Fault | None:
    """The first fault of a JSON value that should be of a type; ``None`` where there is none."""
    for where, inner, kind in _inside(value, _bare(hint), place):
        found = first_fault(inner, kind, where)
        if found is not None:
            return Fault(place, value, _wanted(hint)) if _told_whole(_bare(hint)) else found
    missing = _missing(value, _bare(hint))
    if missing is not None:
        return Fault(f"{place}.{missing}".strip("."), "nothing", "given")
    return None if _sound(value, hint) else Fault(place, value, _wanted(hint))


def _inside(value: object, kind: Any, place: str) -> Iterator[tuple[str, object, Any]]:
    """What stands in an object or a list: its place, its value, its type."""
    if isinstance(value, dict) and _is_record(kind):
        known = [(one.name, one.type) for one in fields_of(kind) if one.name in value]
        yield from ((f"{place}.{name}".strip("."), value[name], hint) for name, hint in known)
    elif isinstance(value, dict) and get_origin(kind) is dict:
        yield from ((f"{place}.{key}", inner, get_args(kind)[1]) for key, inner in value.items())
    elif isinstance(value, list) and get_origin(kind) is list:
        yield from ((f"{place}[{n}]", inner, get_args(kind)[0]) for n, inner in enumerate(value))


def _missing(value: object, kind: Any) -> str | None:
    if not isinstance(value, dict) or not _is_record(kind):
        return None
    return next((one.name for one in fields_of(kind) if one.required and one.name not in value), None)


def _sound(value: object, hint: Any) -> bool:
    try:
        msgspec.convert(value, hint, dec_hook=read_custom)
    except (msgspec.ValidationError, OverflowError):
        return False
    return not isinstance(value, float) or math.isfinite(value)


def _wanted(hint: Any) -> str:
    """What must stand there, in words."""
    if get_origin(hint) is Annotated:
        kind, *metas = get_args(hint)
        told = [one.extra["wanted"] for one in metas if one.extra and "wanted" in one.extra]
        return str(told[0]) if told else _wanted(kind)
    if get_origin(hint) in (Union, UnionType):
        null = "null or " if NoneType in get_args(hint) else ""
        return null + _wanted(_arm(hint)).removeprefix(null)
    if get_origin(hint) is Literal:
        return "one of: " + ", ".join(map(str, get_args(hint)))
    if get_origin(hint) is list and _bare(get_args(hint)[0]) is str:
        return "a list of texts"
    return WORDS[dict if _is_record(hint) else get_origin(hint) or hint]


def _told_whole(kind: Any) -> bool:
    """Lists of texts, numbers and points are short: one of them is told as it stands."""
    return get_origin(kind) is list and not _is_record(_bare(get_args(kind)[0]))


def _bare(hint: Any) -> Any:
    """A type without its limits, and without what may stand in its place."""
    if get_origin(hint) is Annotated:
        return _bare(get_args(hint)[0])
    return _bare(_arm(hint)) if get_origin(hint) in (Union, UnionType) else hint


def _arm(hint: Any) -> Any:
    """What a type is where it is neither null nor missing."""
    return next(arm for arm in get_args(hint) if arm not in (NoneType, UnsetType))


def _is_record(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, Record)
