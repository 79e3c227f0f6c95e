"""What is read of a plan file knows its place: sound values come through, others are refused by it."""

from __future__ import annotations

from datetime import date
from typing import Any, Literal

import msgspec
import pytest

from planner.plan_record.faults import first_fault
from planner.plan_record.values import (
    Amount,
    Later,
    Moment,
    Name,
    Outline,
    Positive,
    Record,
    Text,
    given,
    read_custom,
)

BIG = "x" * 1001


class Row(Record, frozen=True, kw_only=True):
    a: float
    b: Later[Text] = msgspec.UNSET


class Whole(Record, frozen=True, kw_only=True):
    rows: list[Row]
    names: dict[str, Text]
    mass: Row | None


@pytest.mark.parametrize(
    ("hint", "value"),
    [
        (Text, "x" * 1000),
        (Text, ""),
        (Text | None, None),
        (Amount, 0),
        (Amount, 2.5),
        (float, -2),
        (float | None, -1.5),
        (bool, False),
        (Moment, "2026-12-01T18:00:00+00:00"),
        (Moment, "2026-12-01T18:00:00Z"),
        (list[str], []),
        (date, "2026-12-05"),
        (Outline, [[0, 0], [1.5, 0], [0, 1]]),
        (Literal["done", "failed"], "done"),
    ],
)
def test_sound_values(hint: Any, value: object) -> None:
    """No fault is found, and the library takes them, too."""
    assert first_fault(value, hint, "runs[3].key") is None
    msgspec.convert(value, hint, dec_hook=read_custom)


@pytest.mark.parametrize(
    ("hint", "value", "wanted"),
    [
        (Text, 3, "a text"),
        (Text, BIG, "a text"),
        (Text, None, "a text"),
        (Name, "", "a text"),
        (Text | None, 3, "null or a text"),
        (Amount, -0.001, "a number that is not below zero"),
        (Positive, 0, "a number above zero"),
        (float, "3", "a number"),
        (float, True, "a number"),
        (float, float("nan"), "a number"),
        (float, float("inf"), "a number"),
        (float, 10**400, "a number"),
        (float | None, "", "null or a number"),
        (int, 1.5, "a whole number"),
        (bool, 1, "true or false"),
        (bool, "true", "true or false"),
        (Moment, "2026-12-01T18:00:00", "a date and time with offset"),
        (Moment, "tomorrow", "a date and time with offset"),
        (Moment, 5, "a date and time with offset"),
        (list[Row], {}, "a list"),
        (list[str], ["a", 3], "a list of texts"),
        (list[str], "a", "a list of texts"),
        (Outline, [[0, 0], [1, 1]], "a list of [x, y] points"),
        (Outline, [[0, 0], [1, 1], [float("nan"), 0]], "a list of [x, y] points"),
        (date, "5.12.2026", "a date such as 2026-12-05"),
        (Literal["done", "failed"], "lost", "one of: done, failed"),
        (Row, [], "an object"),
        (dict[str, float], [], "an object"),
    ],
)
def test_wrong_values_are_refused_by_their_place(hint: Any, value: object, wanted: str) -> None:
    """Place, what stands there, and what should."""
    fault = first_fault(value, hint, "runs[3].key")
    assert fault is not None
    assert (fault.place, fault.wanted) == ("runs[3].key", wanted)
    assert fault.value is value


@pytest.mark.parametrize(
    ("value", "place", "wanted"),
    [
        ({"rows": [{"a": 1}, {"a": "x"}], "names": {}, "mass": None}, "rows[1].a", "a number"),
        ({"rows": [{"a": 1}, 3], "names": {}, "mass": None}, "rows[1]", "an object"),
        ({"rows": [{"b": "x"}], "names": {}, "mass": None}, "rows[0].a", "given"),
        ({"rows": [], "names": {"b": 3}, "mass": None}, "names.b", "a text"),
        ({"rows": [], "names": {}, "mass": {"a": None}}, "mass.a", "a number"),
        ({"rows": [], "names": {}}, "mass", "given"),
        ([], "", "an object"),
    ],
)
def test_places_inside(value: object, place: str, wanted: str) -> None:
    """Of objects in lists, of objects in objects, of what is missing, and of the file itself."""
    fault = first_fault(value, Whole)
    assert fault is not None
    assert (fault.place, fault.wanted) == (place, wanted)


def test_what_may_be_missing_may_be_missing() -> None:
    """And has a value that counts in its place; so has null."""
    assert first_fault({"rows": [{"a": 1}], "names": {}, "mass": None}, Whole) is None
    assert given(Row(a=1.0).b, "none") == given(None, "none") == "none"
    assert given("told", "none") == "told"
