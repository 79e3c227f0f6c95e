"""What a plan that goes on from an earlier one tells: terminal, sheets, record."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import jsonschema_rs

import planner.report
from planner.model.replan import Change, PastRun, Replan, Slot
from planner.report.answers import answers
from planner.report.exports.plan_json import plan_record
from planner.report.lookup import Lookup
from planner.report.sheets.build_sheet import build_sheets
from planner.report.sheets.changes_sheet import change_sheets, told
from planner.report.sheets.page import report_html
from planner.report.text.summary import summary
from tests.plan_samples import START, sample_plan

SCHEMA = json.loads((Path(planner.report.__file__).parent / "plan.schema.json").read_text(encoding="utf-8"))


def going_on():
    """The sample as if its first bed was printed before, and two beds of four had been moved."""
    plan = sample_plan()
    first, *rest = plan.schedule.runs
    bed = next(batch for batch in plan.batches if batch.name == first.batch)
    past = PastRun(replace(first, name="past 1"), bed, "done")
    was = Slot("desk 1", START, START + timedelta(hours=2))
    now = Slot("desk 2", START + timedelta(hours=3), START + timedelta(hours=5))
    changes = (
        Change("bed 90", "failed", was, None),
        Change("bed 91", "stays", was, was),
        Change("bed 92", "moved", was, now, "from desk 1 to desk 2, 3 h 00 later"),
        Change("bed 93", "new", None, now, "prints bed 90 again"),
        Change("<b>94</b>", "dropped", was, None, "its pieces are no longer needed"),
    )
    made = Replan(
        "ab" * 32, 4.0, plan.schedule.finish, plan.schedule.finish, 2, 1, True, changes, {"7": 12.5}
    )
    kept = tuple(batch for batch in plan.batches if batch.name != first.batch)
    return replace(
        plan,
        schedule=replace(plan.schedule, runs=tuple(rest)),
        batches=kept,
        past=(past,),
        replan=made,
    )


def test_the_terminal_says_what_changed_in_its_25_lines():
    """Failed, new, moved and gone beds, and how many stay."""
    text = summary(going_on(), "out/report.html")
    lines = text.split("\n")
    assert len(lines) <= 25
    assert all(len(line) <= 80 for line in lines)
    assert "Changed     bed 90 failed; bed 93 new; bed 92 moved; <b>94</b> gone" in text
    assert "1 of 2 open beds stays" in text
    assert "1 bed printed before" in text


def test_a_first_plan_has_no_word_of_changes():
    """Neither answer nor sheet."""
    plan = sample_plan()
    assert [answer.label for answer in answers(plan)].count("Changed") == 0
    assert change_sheets(Lookup(plan)) == []


def test_the_sheet_lists_what_acts_before_what_stays():
    """One table of changes, one of what is as it was; names stay text."""
    plan = going_on()
    sheet = change_sheets(Lookup(plan))[0]
    tables = [block for block in sheet.blocks if block.kind == "table"]
    assert [[row.cells[1] for row in table.rows] for table in tables] == [
        ["failed", "moved", "new", "gone"],
        ["as planned"],
    ]
    assert told(plan.replan) == "1 of 2 open beds moved, 1 new bed, 1 bed gone"
    html = report_html(plan)
    assert "What changed" in html
    assert "<b>94</b>" not in html
    assert "no plan within the delay moves fewer" in html


def test_pieces_that_are_printed_are_named_so_in_the_kits():
    """A piece of a bed that is over is not on no bed."""
    plan = going_on()
    piece = plan.past[0].batch.placed[0].piece
    rows = [
        row
        for sheet in build_sheets(Lookup(plan))
        for b in sheet.blocks
        if b.kind == "table"
        for row in b.rows
    ]
    row = next(row for row in rows if len(row.cells) == 5 and str(row.cells[1]).startswith(piece))
    assert row.cells[2:4] == (plan.past[0].batch.name, "printed before")


def test_the_record_holds_the_changes_and_what_is_over():
    """Schema, slots, marks."""
    record = plan_record(going_on())
    jsonschema_rs.validate(SCHEMA, record)
    assert [change["what"] for change in record["replan"]["changes"]] == [
        "failed",
        "stays",
        "moved",
        "new",
        "dropped",
    ]
    assert record["past"][0]["outcome"] == "done"
    assert record["replan"]["told"] == [{"spool": "7", "grams": 12.5}]
    assert all(run["mark"] is None for run in record["runs"])
