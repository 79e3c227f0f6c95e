"""The record is read as far as a later plan needs it; what cannot be used is named."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, get_args

import pytest
from msgspec import UNSET
from msgspec.structs import fields

from planner.plan_record.faults import Fault
from planner.plan_record.plan import PlanRecord
from planner.plan_record.reading import as_read, read_record
from planner.plan_record.values import Record, given, told_only
from planner.report.exports.plan_json import plan_json, plan_record
from tests.plan_samples import sample_plan
from tests.unit.report.test_report_changes import going_on


def _record_of(hint: Any) -> type[Record] | None:
    """The record that a field holds, or holds many of."""
    if isinstance(hint, type) and issubclass(hint, Record):
        return hint
    return next((found for found in map(_record_of, get_args(hint)) if found is not None), None)


def _bare(value: Any, kind: type[Record]) -> Any:
    """A record with nothing but what it cannot do without."""
    if isinstance(value, list):
        return [_bare(one, kind) for one in value]
    if not isinstance(value, dict):
        return value
    known = {one.name: one for one in fields(kind)}
    left = {}
    for name, inner in value.items():
        if known[name].required:
            inside = _record_of(known[name].type)
            left[name] = inner if inside is None else _bare(inner, inside)
    return left


def _records() -> Iterator[tuple[type[Record], type[Record]]]:
    """Every record with how it is read."""
    todo: list[type[Record]] = [PlanRecord]
    seen = set()
    while todo:
        kind = todo.pop()
        if kind not in seen:
            seen.add(kind)
            yield kind, as_read(kind)
            todo += [one for one in (_record_of(f.type) for f in fields(kind)) if one is not None]


def test_what_is_only_told_is_not_read() -> None:
    """As read, a record has no place for it, and says so."""
    counted = 0
    for kind, read in _records():
        told = {one.name for one in fields(kind) if told_only(one.type)}
        assert {one.name for one in fields(read)} == {one.name for one in fields(kind)} - told
        assert all(getattr(read, name) is UNSET for name in told)
        assert {one.name for one in fields(read) if one.required} == {
            one.name for one in fields(kind) if one.required
        }
        counted += len(told)
    assert counted > 50


def test_a_whole_plan_is_read_as_it_stands() -> None:
    """Values are those of the file; what is told to people only is not there."""
    plan = going_on()
    read, record = read_record(plan_json(plan)), plan_record(plan)
    assert [run.run for run in read.runs] == [run["run"] for run in record["runs"]]
    assert [str(run.start) for run in read.runs] == [run["start"] for run in record["runs"]]
    assert read.mass.items[0].mass_g == record["mass"]["items"][0]["mass_g"]
    assert read.cost is UNSET
    assert read.parts[0].hand is UNSET
    replan = given(read.replan, None)
    assert replan is not None
    assert {one.spool: one.grams for one in replan.told} == {
        one["spool"]: one["grams"] for one in record["replan"]["told"]
    }


def test_a_plan_of_old_is_read() -> None:
    """All that was added since is missing; so is all that is only told. Nothing is asked for."""
    record = _bare(plan_record(sample_plan()), PlanRecord)
    assert {"choices", "past", "cost", "balance"}.isdisjoint(record)
    assert "dry_at" not in record["runs"][0]
    read = read_record(json.dumps(record))
    assert read.choices is read.past is read.replan is read.runs[0].mark is UNSET
    assert given(read.runs[0].short_g, 0.0) == 0.0


def test_null_counts_as_missing_where_a_plan_of_old_has_nothing() -> None:
    """Also the wrong words where nobody reads do no harm."""
    record = plan_record(sample_plan())
    record["past"] = record["choices"] = record["filaments"] = None
    record["runs"][0]["mark"] = ""
    record["pieces"][0]["again"] = None
    record["cost"], record["goals"], record["surprise"] = "much", [{"goal": "beauty"}], float("nan")
    read = read_record(json.dumps(record))
    assert given(read.past, []) == given(read.filaments, []) == []
    assert given(read.choices, None) is None
    assert read.runs[0].mark == ""
    assert given(read.pieces[0].again, False) is False


def test_a_whole_number_may_be_written_with_a_point() -> None:
    """Programs that know one kind of number write 7 as 7.0."""
    record = plan_record(sample_plan())
    minutes = record["schedule"]["visits"][0]["minutes"]
    record["schedule"]["visits"][0]["minutes"] = float(minutes)
    assert read_record(json.dumps(record)).schedule.visits[0].minutes == minutes


GONE = object()
AMOUNT, COUNT = "a number that is not below zero", "a whole number that is not below zero"
POINTS, DAY = "a list of [x, y] points", "a date such as 2026-12-05"
FAULTS: list[tuple[tuple[Any, ...], object, str, str]] = [
    (("schema",), 2, "schema", "1, the only one that this version reads"),
    (("parts",), None, "parts", "a list"),
    (("parts",), GONE, "parts", "given"),
    (("airframe",), [], "airframe", "an object"),
    (("airframe", "name"), "x" * 1001, "airframe.name", "a text"),
    (("start",), "yesterday", "start", "a date and time with offset"),
    (("start",), "2026-13-01T18:00:00+00:00", "start", "a date and time with offset"),
    (("start",), "2026-12-01T18:00:00", "start", "a date and time with offset"),
    (("currency",), "euro", "currency", "three letters such as EUR"),
    (("runs", 0, "attended_start"), "yes", "runs[0].attended_start", "true or false"),
    (("runs", 0, "mark"), "lost", "runs[0].mark", "null or one of: done, failed, running"),
    (("runs", 0, "printer"), GONE, "runs[0].printer", "given"),
    (("runs", 0, "spools", 0, "grams"), -1.0, "runs[0].spools[0].grams", AMOUNT),
    (("batches", 0, "minutes"), float("inf"), "batches[0].minutes", AMOUNT),
    (("batches", 0, "minutes"), float("nan"), "batches[0].minutes", AMOUNT),
    (("batches", 0, "minutes"), 10**400, "batches[0].minutes", AMOUNT),
    (("batches", 0, "minutes"), True, "batches[0].minutes", AMOUNT),
    (("batches", 0, "placed", 0, "x_mm"), "0", "batches[0].placed[0].x_mm", "a number"),
    (("batches", 0, "placed", 0, "outline_mm"), [[1.0]] * 3, "batches[0].placed[0].outline_mm", POINTS),
    (("parts", 0, "pose", "rotation"), [1.0] * 8, "parts[0].pose.rotation", "nine numbers"),
    (("spools", 0, "price"), "much", "spools[0].price", "null or an amount"),
    (("schedule", "visits", 0, "minutes"), 10**400, "schedule.visits[0].minutes", COUNT),
    (("choices", "section_dates"), {"wing": "soon"}, "choices.section_dates.wing", DAY),
    (("parts", 0, "mesh_sha256"), "x", "parts[0].mesh_sha256", "null or a SHA-256 of 64 hex digits"),
    (("identification",), "", "identification", "a SHA-256 of 64 hex digits"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "place", "wanted"), FAULTS)
def test_what_cannot_be_used_is_named(path: tuple[Any, ...], value: object, place: str, wanted: str) -> None:
    """Place and words; a number that no computer holds is none."""
    record = plan_record(sample_plan())
    inside: Any = record
    for step in path[:-1]:
        inside = inside[step]
    if value is GONE:
        del inside[path[-1]]
    else:
        inside[path[-1]] = value
    with pytest.raises(Fault) as caught:
        read_record(json.dumps(record))
    assert (caught.value.place, caught.value.wanted) == (place, wanted)
    assert caught.value.value == ("nothing" if value is GONE else _in_it(value)) or value != value


def _in_it(value: Any) -> Any:
    return value["wing"] if isinstance(value, dict) else value


@pytest.mark.parametrize("text", ["", "{", "[" * 100_000, '{"schema": 1, "surprise": ' + "[" * 100_000])
def test_what_is_no_json_is_told_as_that(text: str) -> None:
    """Never as a fault of a field, and never without an end."""
    with pytest.raises((ValueError, RecursionError)) as caught:
        read_record(text)
    assert not isinstance(caught.value, Fault)


def test_another_kind_of_thing_is_named_as_a_whole() -> None:
    """A list is no plan."""
    with pytest.raises(Fault) as caught:
        read_record("[]")
    assert (caught.value.place, caught.value.wanted) == ("", "an object")
