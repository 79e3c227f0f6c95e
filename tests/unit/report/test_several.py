"""Several airframes in the report, in plan.json, in tables and in the calendar."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache

import jsonschema
import pytest

from planner.model.plan import Plan
from planner.plan_record.schema import plan_schema
from planner.report.answers import answers, title
from planner.report.exports.calendar import schedule_ics
from planner.report.exports.plan_json import plan_json
from planner.report.exports.plan_json_several import airframes_record
from planner.report.exports.tables import cost_sheet_csv
from planner.report.lookup import Lookup
from planner.report.several import alike, balances_told, kinds, late_told, plan_of_one, weights_told
from planner.report.sheets.airframes_sheet import airframes_sheets, spans_of
from planner.report.sheets.mass_sheet import mass_sheets
from planner.report.text.summary import summary
from tests.plan_samples import sample_plan
from tests.several_sample import two_airframes


@cache
def both() -> Plan:
    return two_airframes()


def test_plan_json_tells_each_and_keeps_to_its_schema() -> None:
    told = json.loads(plan_json(both()))
    jsonschema.validate(told, plan_schema())
    assert [one["airframe"] for one in told["airframes"]] == ["glider", "wing b"]
    assert {piece["airframe"] for piece in told["pieces"]} == {"glider", "wing b"}
    assert (told["airframes"][0]["due"], told["airframes"][0]["late"]) == ("2026-01-01", True)
    assert told["airframes"][0]["mass"]["total_g"] == told["mass"]["total_g"]
    assert [one["pieces"] for one in told["airframes"]] == [
        sum(piece["airframe"] == name for piece in told["pieces"]) for name in ("glider", "wing b")
    ]


def test_a_plan_of_one_tells_nothing_of_several() -> None:
    told = json.loads(plan_json(sample_plan()))
    assert "airframes" not in told
    assert not any("airframe" in piece for piece in told["pieces"])
    assert not airframes_record(sample_plan())
    assert airframes_sheets(Lookup(sample_plan())) == []
    assert len([sheet for sheet in mass_sheets(Lookup(sample_plan())) if sheet.first]) == 1


def test_answers_name_each_and_what_is_late() -> None:
    told = {answer.label: answer for answer in answers(both())}
    assert told["Weighs"].short.startswith("glider: ")
    assert "; wing b: " in told["Weighs"].short
    assert told["Finished"].act
    assert told["Finished"].more[-1] == "after its date: glider"
    assert "wing b: " in told["Balances"].short
    assert title(both()).endswith(", 2 airframes")
    lines = summary(both(), "report.html").splitlines()
    assert len(lines) <= 25
    assert max(map(len, lines)) <= 80


def test_one_over_its_target_or_outside_its_window_wants_action() -> None:
    plan = both()
    first = plan.airframes[0]
    heavy = replace(first, mass=replace(first.mass, target_g=1.0))
    off = replace(first, balance=replace(first.balance, inside=False))
    assert weights_told(replace(plan, airframes=(heavy, plan.airframes[1])))[1]
    assert balances_told(replace(plan, airframes=(off, plan.airframes[1])))[1]
    light = tuple(replace(a, mass=replace(a.mass, target_g=None)) for a in plan.airframes)
    assert not weights_told(replace(plan, airframes=light))[1]


def test_the_sheet_has_a_row_for_each_and_one_for_all() -> None:
    (dates, money) = [
        block for sheet in airframes_sheets(Lookup(both())) for block in sheet.blocks if block.kind == "table"
    ]
    assert [row.cells[0] for row in dates.rows] == ["glider", "wing b", "all"]  # type: ignore[attr-defined]
    assert "(late)" in str(dates.rows[0].cells[2])  # type: ignore[attr-defined]
    assert [row.cells[0] for row in money.rows] == ["glider", "wing b", "all"]  # type: ignore[attr-defined]
    assert str(money.rows[-1].cells[2]) == "3.0"  # type: ignore[attr-defined]


def test_mass_and_balance_have_a_chapter_each_of_their_own_pieces() -> None:
    plan = both()
    heads = [sheet.name for sheet in mass_sheets(Lookup(plan)) if sheet.first]
    assert heads == ["Mass and balance: glider", "Mass and balance: wing b"]
    one = plan_of_one(plan, plan.airframes[1])
    assert {piece.airframe for piece in one.pieces} == {"wing b"}
    assert {part.airframe for part in one.parts} == {"wing b"}
    assert one.airframes == ()
    assert set(one.deposits) == {part.name for part in one.parts}


def test_copies_that_weigh_alike_are_shown_once() -> None:
    plan = both()
    rows = tuple(replace(a, airframe=replace(a.airframe, copy_of="glider")) for a in plan.airframes)
    copies = replace(plan, airframes=rows)
    assert [one.airframe.name for one in kinds(copies)] == ["glider"]
    assert alike(copies) == 1
    other = replace(rows[1], mass=replace(rows[1].mass, total_g=rows[1].mass.total_g + 1.0))
    assert alike(replace(plan, airframes=(rows[0], other))) == 0


def test_many_that_are_late_are_counted() -> None:
    plan = both()
    late = tuple(
        replace(plan.airframes[0], airframe=replace(plan.airframes[0].airframe, name=f"g {n}"))
        for n in range(6)
    )
    assert late_told(replace(plan, airframes=late)) == "after its date: g 0, g 1, g 2, g 3 and 2 more"


def test_tables_and_calendar_tell_each() -> None:
    rows = [line for line in cost_sheet_csv(both()).splitlines() if "share of glider" in line]
    assert len(rows) == 1
    calendar = schedule_ics(both()).decode().replace("\r\n ", "")
    assert "SUMMARY:glider: its last piece is printed\\, due 2026-01-01" in calendar
    assert "finish-wing-b@" in calendar


@pytest.mark.parametrize(
    ("names", "told"),
    [
        (["1", "2", "3", "5", "6", "8", "9", "10"], "1 - 3, 5, 6, 8 - 10"),
        (["2", "1"], "2, 1"),
        (["wing", "7", "8", "9a"], "wing, 7, 8, 9a"),
        (["²", "3", "4", "5"], "², 3 - 5"),
        ([], ""),
    ],
)
def test_beds_that_follow_one_another_are_told_as_a_span(names: list[str], told: str) -> None:
    """Whole numbers only, from three on, in the order in which they come."""
    assert spans_of(names) == told
