"""Dryers in the timetable, on the sheet of spools, in the calendar, and in ``plan.json`` and read back."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import icalendar
import pytest

from planner.errors import RecordError
from planner.io.results.plan_file import read_plan
from planner.model.drying import Dryer, DryerLoad
from planner.model.plan import Plan
from planner.model.schedule import Visit
from planner.pipeline.cautions import cautions
from planner.report.dryers import dryer_blocks
from planner.report.exports.calendar import schedule_ics, short_summary
from planner.report.exports.plan_json import plan_json
from planner.report.lookup import Lookup
from planner.report.sheets.spools_sheet import spool_sheets
from planner.report.sheets.timetable_sheet import timetable_sheets
from tests.plan_samples import START, sample_plan

IN, OUT = START + timedelta(minutes=5), START + timedelta(hours=12)


def dried_plan() -> Plan:
    """The sample with two spools of its first filament in a dryer, one of them a name to be escaped."""
    plan = sample_plan()
    first, *others = plan.workshop.filaments
    first = replace(first, needs_drying=True, dry_hours=8.0, dry_c=70.0)
    shop = replace(plan.workshop, filaments=(first, *others), dryer=Dryer(1, 2))
    over = DryerLoad(1, first.name, ("gone",), START - timedelta(hours=20), START - timedelta(hours=10))
    load = DryerLoad(1, first.name, ("A", "<b>"), IN, OUT)
    visit = Visit(IN, 1, ("put spool A into dryer 1 for 8 h or more at 70 °C",))
    schedule = replace(plan.schedule, drying=(over, load), visits=(visit, *plan.schedule.visits))
    return replace(plan, workshop=shop, schedule=schedule)


def test_sheets_tell_what_is_in_a_dryer_from_when_until_when() -> None:
    """Slots that are over are left out; without any there is no table."""
    look = Lookup(dried_plan())
    for sheets in (timetable_sheets(look), spool_sheets(look)):
        told = str(sheets)
        assert "8 h, 70 °C" in told
        assert "A, <b>" in told  # a cell, escaped where it is drawn
        assert "gone" not in told
    assert dryer_blocks(Lookup(sample_plan())) == []


def test_the_calendar_names_what_goes_in_and_comes_out() -> None:
    """Beside beds that are started, and alone."""
    events = icalendar.Calendar.from_ical(schedule_ics(dried_plan())).walk("VEVENT")
    assert str(events[0]["summary"]) == "dry 1 spool"
    both = ("take spool A out of dryer 1", "put spool B into dryer 1 for 8 h or more")
    assert short_summary(Visit(IN, 1, both)) == "dry 1 spool; take 1 spool out of the dryer"
    many = [f"start a bed of a very long name indeed {n} on one" for n in range(3)]
    assert short_summary(Visit(IN, 1, (*many, *both))) == "start 3 beds, dryer"


def test_the_record_tells_the_slots_and_is_read_back(tmp_path: Path) -> None:
    """Where there are any; a slot that ends before it begins is refused."""
    text = plan_json(dried_plan())
    path = tmp_path / "plan.json"
    path.write_text(text, encoding="utf-8")
    earlier = read_plan(path).drying
    assert [load.spools for load in earlier] == [("gone",), ("A", "<b>")]
    assert (earlier[1].put_in, earlier[1].take_out) == (IN, OUT)
    assert "drying" not in json.loads(plan_json(sample_plan()))["schedule"]
    record = json.loads(text)
    record["schedule"]["drying"][1]["take_out"] = record["schedule"]["drying"][0]["put_in"]
    path.write_text(json.dumps(record), encoding="utf-8")
    with pytest.raises(RecordError, match=r"drying\[1\].take_out"):
        read_plan(path)


def test_a_caution_for_dryers_stands_only_where_something_is_dried() -> None:
    """With the filament that is."""
    plan = dried_plan()
    told = cautions(plan.workshop.filaments, plan.workshop, plan.airframe)
    mine = [line for line in told if "a dryer is a hot machine" in line]
    assert len(mine) == 1
    assert mine[0].startswith(f"{plan.workshop.filaments[0].name}: ")
    bare = sample_plan()
    assert not [c for c in cautions(bare.workshop.filaments, bare.workshop, bare.airframe) if "dryer" in c]
