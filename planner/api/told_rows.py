"""Rows that a ``plan.json`` tells, table by table: none of what it lacks; what cannot be used is refused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from planner.errors import RecordError
from planner.plan_record.beds import BatchRecord
from planner.plan_record.faults import Fault, first_fault
from planner.plan_record.head import FindingRecord
from planner.plan_record.learned import WeighInRecord
from planner.plan_record.parts import PartRecord, PieceRecord
from planner.plan_record.runs import RunRecord, SpoolRecord, VisitRecord
from planner.plan_record.sums import CostLineRecord, MassItemRecord
from planner.plan_record.values import Record, fields_of

Row = dict[str, Any]

SECTIONS: dict[str, tuple[tuple[str, ...], type[Record]]] = {
    "parts": (("parts",), PartRecord),
    "pieces": (("pieces",), PieceRecord),
    "batches": (("batches",), BatchRecord),
    "runs": (("runs",), RunRecord),
    "visits": (("schedule", "visits"), VisitRecord),
    "spools": (("spools",), SpoolRecord),
    "mass_items": (("mass", "items"), MassItemRecord),
    "cost_lines": (("cost", "lines"), CostLineRecord),
    "findings": (("findings",), FindingRecord),
    "weigh_ins": (("ledger", "weigh_ins"), WeighInRecord),
}


def told_rows(record: Mapping[str, Any], source: str = "plan.json") -> dict[str, list[Row]]:
    """The rows of every table; none where the record lacks the section, or tells it as null.

    Raises
    ------
    RecordError
        naming ``source`` and the first value that is not of its kind; whoever goes on from a plan never looks
        at what is only told to people, and so has not seen it
    """
    try:
        return {name: list(_rows(record, *SECTIONS[name])) for name in SECTIONS}
    except Fault as fault:
        raise RecordError(
            f"{fault.place} = {str(fault.value)[:60]!r} must be {fault.wanted}.",
            where=source,
            next_step="Give the plan.json of a results folder, or plan anew.",
        ) from fault


def _rows(record: Mapping[str, Any], path: tuple[str, ...], kind: type[Record]) -> Iterator[Row]:
    inside: Any = record
    for n, step in enumerate(path):
        if not isinstance(inside, Mapping):
            raise Fault(".".join(path[:n]), inside, "an object")
        inside = inside.get(step)
        if inside is None:
            return
    place = ".".join(path)
    if not isinstance(inside, list):
        raise Fault(place, inside, "a list")
    for n, row in enumerate(inside):
        yield _sound(row, kind, f"{place}[{n}]")


def _sound(row: object, kind: type[Record], place: str) -> Row:
    """A row without what is null, each value being of its kind."""
    if not isinstance(row, dict):
        raise Fault(place, row, "an object")
    told = {key: value for key, value in row.items() if value is not None}
    for one in fields_of(kind):
        fault = first_fault(told[one.name], one.type, f"{place}.{one.name}") if one.name in told else None
        if fault is not None:
            raise fault
    return told
