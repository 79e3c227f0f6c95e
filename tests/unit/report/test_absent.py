"""What is away in the timetable, its words, the calendar and ``plan.json``."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta

import icalendar

from planner.model.away import Away
from planner.report.absent import absent, away_at
from planner.report.exports.calendar import schedule_ics
from planner.report.exports.plan_json import plan_json
from planner.report.lookup import Lookup
from planner.report.sheets.timetable_sheet import timetable_sheets
from tests.plan_samples import START, sample_plan
from tests.unit.report.test_report_timetable import drawn, labels


def away_plan(*spans: Away):
    """The sample with its first printer away."""
    plan = sample_plan()
    first, *others = plan.workshop.printers
    printers = (replace(first, away=spans), *others)
    return replace(plan, workshop=replace(plan.workshop, printers=printers))


SPAN = Away(START + timedelta(hours=20), START + timedelta(hours=32), "repair")


def test_it_is_drawn_in_its_row() -> None:
    """As long as it lasts, with its reason; nothing is drawn where nothing is away."""
    svg = drawn(away_plan(SPAN))[0]
    name = away_plan().workshop.printers[0].name
    blocks = [node for node in svg.iter() if node.get("class") == "away"]
    assert len(blocks) == 1
    assert f"Printer {name} is away from" in "".join(blocks[0].itertext())
    assert [words for *_, words in labels(svg) if words.startswith("away")] == ["away: repair"]
    assert not [node for node in drawn(away_plan())[0].iter() if node.get("class") == "away"]


def test_sheets_calendar_and_record_tell_it() -> None:
    """Each in a sentence; a visit from a day before."""
    plan = away_plan(SPAN, Away(date(2099, 1, 1)))
    told = absent(plan)
    assert [(one.what, one.why) for one in told] == [("printer", "repair")]
    assert told[0].words() in str(timetable_sheets(Lookup(plan)))
    assert away_at(START, plan) == [told[0].words()]
    assert away_at(START - timedelta(hours=5), plan) == away_at(START + timedelta(hours=33), plan) == []
    events = icalendar.Calendar.from_ical(schedule_ics(plan)).walk("VEVENT")
    assert any(told[0].words() in str(event["description"]) for event in events)
    record = json.loads(plan_json(plan))["schedule"]["away"]
    assert [(one["what"], one["why"]) for one in record] == [("printer", "repair")]
    assert "away" not in json.loads(plan_json(sample_plan()))["schedule"]


def test_an_open_end_and_one_that_has_begun() -> None:
    """Until told, and without the beginning that is past."""
    plan = away_plan(Away(START - timedelta(days=2)))
    assert absent(plan)[0].words().endswith("is away until told.")
    assert json.loads(plan_json(plan))["schedule"]["away"][0]["until"] is None
