"""What is read of a plan file knows its place: sound values come through, others are refused by it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest

from planner.errors import RecordError
from planner.io.results.plan_node import Node

BIG = "x" * 1001


def node(value: Any = None, **more: Any) -> Node:
    return Node("plan.json", "runs[3]", more if value is None else value)


@pytest.mark.parametrize(
    ("read", "given", "wanted"),
    [
        ("text", "bed 1", "bed 1"),
        ("text", "x" * 1000, "x" * 1000),
        ("optional_text", None, None),
        ("optional_text", "a", "a"),
        ("number", 0, 0.0),
        ("number", 2.5, 2.5),
        ("signed", -2, -2.0),
        ("optional_signed", None, None),
        ("optional_signed", -1.5, -1.5),
        ("flag", False, False),
        ("moment", "2026-12-01T18:00:00+00:00", datetime(2026, 12, 1, 18, tzinfo=UTC)),
        ("items", [1, "a"], [1, "a"]),
        ("texts", ["a", "b"], ("a", "b")),
        ("texts", [], ()),
        ("day", "2026-12-05", date(2026, 12, 5)),
    ],
)
def test_sound_values(read, given, wanted):
    """Each as what it is."""
    found = getattr(node(key=given), read)("key")
    assert found == wanted
    assert type(found) is type(wanted)


@pytest.mark.parametrize(
    ("read", "given", "wanted"),
    [
        ("text", 3, "a text"),
        ("text", BIG, "a text"),
        ("text", None, "a text"),
        ("optional_text", 3, "a text"),
        ("number", -0.001, "a number that is not below zero"),
        ("number", "3", "a number"),
        ("number", True, "a number"),
        ("signed", float("nan"), "a number"),
        ("signed", float("inf"), "a number"),
        ("optional_signed", "", "a number"),
        ("flag", 1, "true or false"),
        ("flag", "true", "true or false"),
        ("moment", "2026-12-01T18:00:00", "a date and time with offset"),
        ("moment", "tomorrow", "a date and time"),
        ("items", {}, "a list"),
        ("texts", ["a", 3], "a list of texts"),
        ("day", "5.12.2026", "a date such as 2026-12-05"),
        ("node", [], "an object"),
    ],
)
def test_wrong_values_are_refused_by_their_place(read, given, wanted):
    """File, place, what stands there (not more of it than sixty letters), and what should."""
    with pytest.raises(RecordError) as refusal:
        getattr(node(key=given), read)("key")
    assert refusal.value.what == f"runs[3].key = {str(given)[:60]!r} must be {wanted}."
    assert refusal.value.where == "plan.json"
    assert refusal.value.next_step.startswith("Give the plan.json of an earlier plan")


@pytest.mark.parametrize(
    "read", ["get", "text", "number", "signed", "flag", "moment", "items", "node", "texts", "day"]
)
def test_what_is_missing_is_told(read):
    """A key that is not there is not the same as nothing."""
    with pytest.raises(RecordError, match=r"runs\[3\]\.key = 'nothing' must be given"):
        getattr(node(other=1), read)("key")
    assert node(other=1).optional_text("key") is None
    assert node(other=1).optional_signed("key") is None


def test_places_inside():
    """Of objects in lists, of objects in objects, and of the file itself."""
    whole = Node("plan.json", "", {"runs": [{"a": 1}, {"a": "x"}], "mass": {"g": -1}, "names": {"b": "c"}})
    first, second = whole.nodes("runs")
    assert first.number("a") == 1.0
    for read, place in (
        (lambda: second.number("a"), "runs[1].a"),
        (lambda: whole.node("mass").number("g"), "mass.g"),
        (lambda: Node("plan.json", "", []), "the file"),
        (lambda: list(Node("f", "", {"runs": [3]}).nodes("runs")), "runs[0]"),
    ):
        with pytest.raises(RecordError) as refusal:
            read()
        assert refusal.value.what.startswith(f"{place} = ")
    assert whole.node("names").texts_by_name() == {"b": "c"}
    assert list(whole.nodes("gone", optional=True)) == []
    with pytest.raises(RecordError):
        list(whole.nodes("gone"))
