"""What a ledger had taught a plan, as its file holds it: factors above nought, counts whole."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from planner.plan_record import learned
from planner.plan_record.faults import first_fault
from planner.plan_record.reading import as_read
from planner.plan_record.values import fields_of, read_custom, told_only

WHOLE: dict[str, Any] = {
    "facts": 12,
    "parts": [{"part": "fin", "factor": 1.05}],
    "printers": [{"printer": "small", "factor": 0.9}],
    "predicted": [{"piece": "fin", "grams": 12.5}],
    "factors": [{"what": "filament", "name": "PLA", "factor": 1.0, "low": 0.9, "high": 1.1, "facts": 3}],
    "weigh_ins": [
        {"pieces": "a + b", "at": None, "grams": 3.0, "predicted_g": 2.9, "expected_g": 3.1, "believed": True}
    ],
    "failures": [{"printer": "small", "per_hour": 0.002, "failures": 1, "hours": 500.0}],
}


def test_the_whole_is_sound_and_only_facts_are_asked_for() -> None:
    assert first_fault(WHOLE, learned.LedgerRecord) is None
    assert first_fault({"facts": 0}, learned.LedgerRecord) is None
    assert [one.name for one in fields_of(learned.LedgerRecord) if one.required] == ["facts"]


def test_what_is_for_people_is_not_read_back() -> None:
    """Factors with their ranges, weigh-ins and failures are told only."""
    told = [one.name for one in fields_of(learned.LedgerRecord) if told_only(one.type)]
    assert told[:3] == ["factors", "weigh_ins", "failures"]
    assert told[3:] == ["spreads", "runs", "drawn", "outlook", "first"]
    kind = as_read(learned.LedgerRecord)
    read = msgspec.convert({**WHOLE, "factors": "nonsense"}, kind, dec_hook=read_custom)
    assert read.parts[0].factor == 1.05  # type: ignore[union-attr,index]
    assert read.factors is msgspec.UNSET


@pytest.mark.parametrize(
    ("key", "inside", "value", "wanted"),
    [
        ("parts", "factor", 0.0, "a number above zero"),
        ("printers", "factor", -1.0, "a number above zero"),
        ("predicted", "grams", -0.1, "a number that is not below zero"),
        ("parts", "part", 5, "a text"),
        ("weigh_ins", "at", "yesterday", "null or a date and time with offset"),
        ("failures", "failures", 1.5, "a whole number that is not below zero"),
        ("weigh_ins", "believed", 1, "true or false"),
    ],
)
def test_a_value_that_cannot_be_is_named(key: str, inside: str, value: object, wanted: str) -> None:
    row = {**WHOLE[key][0], inside: value}
    fault = first_fault({**WHOLE, key: [WHOLE[key][0], row]}, learned.LedgerRecord)
    assert fault is not None
    assert (fault.place, fault.wanted) == (f"{key}[1].{inside}", wanted)
