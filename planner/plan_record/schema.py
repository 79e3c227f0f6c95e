"""The published JSON Schema of ``plan.json``, made of the record."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, get_args

import msgspec

from planner.plan_record.balance import BalanceRecord
from planner.plan_record.plan import PlanRecord
from planner.plan_record.values import MOMENT, Moment, Record, fields_of, told_only

DIALECT = "https://json-schema.org/draft/2020-12/schema"
OPEN: tuple[type[Record], ...] = (BalanceRecord,)  # others may write fields of their own into these
PLACE = "#/$defs/"
Schema = dict[str, Any]


def plan_schema() -> Schema:
    """The schema: every field is required but those that are seldom told, and no other may be there."""
    made = msgspec.json.schema(PlanRecord, schema_hook=_custom)
    defined: Schema = made["$defs"]
    kinds: list[type[Record]] = [PlanRecord, *_records_in(PlanRecord)]
    for kind in kinds:
        _close(defined[kind.__name__], kind)
    top = defined.pop(PlanRecord.__name__)
    head = {"$schema": DIALECT, "$id": "urn:airframe-print-planner:plan:1", "title": "Plan"}
    named = {_short(name): defined[name] for name in sorted(defined)}
    tidied: Schema = _tidied({**head, **top, "$defs": named})
    return tidied


def schema_text() -> str:
    """The schema as it is published: one blank a level, one line feed at the end."""
    return json.dumps(plan_schema(), ensure_ascii=False, indent=1) + "\n"


def _custom(kind: type) -> Schema:
    """The types that are no JSON types."""
    if kind is Moment:
        return {"type": "string", "pattern": MOMENT}
    raise NotImplementedError(kind)


def _close(schema: Schema, kind: type[Record]) -> None:
    schema.pop("title", None)
    schema["description"] = " ".join(schema["description"].split())
    schema["required"] = [one.name for one in fields_of(kind) if not told_only(one.type, "seldom")]
    schema["additionalProperties"] = kind in OPEN


def _tidied(value: Any) -> Any:
    """Definitions by their short names; null is the last of several, whatever the library's order."""
    if isinstance(value, list):
        return [_tidied(one) for one in value]
    if not isinstance(value, dict):
        return value
    made = {key: _tidied(inner) for key, inner in value.items()}
    if "$ref" in made:
        made["$ref"] = PLACE + _short(made["$ref"].removeprefix(PLACE))
    if "anyOf" in made:
        made["anyOf"].sort(key=lambda one: one.get("type") == "null")
    return made


def _records_in(kind: type[Record], seen: set[type[Record]] | None = None) -> Iterator[type[Record]]:
    """Every record that may stand somewhere in a record."""
    seen = set() if seen is None else seen
    for one in fields_of(kind):
        for inner in _inner(one.type):
            if inner not in seen:
                seen.add(inner)
                yield inner
                yield from _records_in(inner, seen)


def _inner(hint: Any) -> Iterator[type[Record]]:
    if isinstance(hint, type) and issubclass(hint, Record):
        yield hint
    for arg in get_args(hint):
        yield from _inner(arg)


def _short(name: str) -> str:
    return name.removesuffix("Record").lower()
