"""A record as a later plan reads it: what is only told to people is left out, so that it is not asked for."""

from __future__ import annotations

import json
from functools import cache, reduce
from operator import or_
from types import UnionType
from typing import Annotated, Any, TypeVar, Union, cast, get_args, get_origin

import msgspec
from msgspec import UNSET

from planner.plan_record.faults import first_fault
from planner.plan_record.plan import PlanRecord
from planner.plan_record.values import Record, fields_of, read_custom, told_only

R = TypeVar("R", bound=Record)


def read_record(text: str) -> PlanRecord:
    """The record of a ``plan.json``; fields that are not read back are ``UNSET``, and never looked at.

    Raises
    ------
    Fault
        naming the first value that cannot be used
    ValueError, RecursionError
        where the text is no JSON
    """
    kind = as_read(PlanRecord)
    try:
        read: PlanRecord = msgspec.json.decode(text, type=kind, dec_hook=read_custom)
        return read
    except (msgspec.MsgspecError, RecursionError):
        return _explained(json.loads(text, parse_float=_number), kind)


def _explained(value: object, kind: type[PlanRecord]) -> PlanRecord:
    """What a text with a fault says, if the fault is where nobody reads."""
    fault = first_fault(value, kind)
    if fault is not None:
        raise fault
    return msgspec.convert(value, kind, dec_hook=read_custom)


def _number(text: str) -> float:
    """A number; a whole one that was written as ``7.0`` counts as one."""
    value = float(text)
    return int(value) if value.is_integer() else value


@cache
def as_read(kind: type[R]) -> type[R]:
    """A record without the fields that are only told; these are always ``UNSET``."""
    known = [one for one in fields_of(kind) if not told_only(one.type)]
    taken: list[Any] = [
        (one.name, _as_read(one.type)) if one.required else (one.name, _as_read(one.type) | None, UNSET)
        for one in known
    ]
    left = {one.name: UNSET for one in fields_of(kind) if told_only(one.type)}
    made = msgspec.defstruct(kind.__name__, taken, bases=(Record,), namespace=left, frozen=True, kw_only=True)
    return cast("type[R]", made)


def _as_read(hint: Any) -> Any:
    """A type with every record in it as it is read."""
    if isinstance(hint, type) and issubclass(hint, Record):
        return as_read(hint)
    origin: Any = get_origin(hint)
    inner = get_args(hint)
    if origin is Annotated:
        return origin[(_as_read(inner[0]), *inner[1:])]
    if origin in (list, dict):
        return origin[tuple(map(_as_read, inner))]
    return reduce(or_, map(_as_read, inner)) if origin in (Union, UnionType) else hint
