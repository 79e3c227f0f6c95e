"""The calendar of visits."""

from dataclasses import replace
from datetime import UTC, timedelta

import icalendar
import pytest

from planner.model.replan import Replan
from planner.report.exports.calendar import schedule_ics
from planner.report.exports.plan_json import plan_hash
from tests.plan_edges import crowded_plan, empty_plan, hostile_plan
from tests.plan_samples import START, sample_plan


@pytest.mark.parametrize("make", [sample_plan, hostile_plan, empty_plan, crowded_plan])
def test_calendar_reads_back(make) -> None:
    """The icalendar reader finds one event a visit and one for the finish, with different UIDs."""
    plan = make()
    data = schedule_ics(plan)
    events = icalendar.Calendar.from_ical(data).walk("VEVENT")
    assert len(events) == len(plan.schedule.visits) + 1
    assert len({str(e["uid"]) for e in events}) == len(events)
    for line in data.split(b"\r\n"):
        assert len(line) <= 75  # octets, RFC 5545 section 3.1
        assert b"\n" not in line
    assert data == schedule_ics(make())


def test_visits_are_at_their_time() -> None:
    """Start and length of the events are those of the visits, in UTC; the stamp is the plan's start."""
    plan = sample_plan()
    events = icalendar.Calendar.from_ical(schedule_ics(plan)).walk("VEVENT")
    for event, visit in zip(events, plan.schedule.visits, strict=False):
        assert event.decoded("dtstart") == visit.at.astimezone(UTC)
        assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(minutes=visit.minutes)
        assert event.decoded("dtstamp") == START.astimezone(UTC)
        assert str(event["uid"]).startswith(plan_hash(plan)[:16])
        assert visit.tasks[0] in str(event["description"])


def test_a_plan_that_goes_on_updates_its_events_and_cancels_what_is_gone() -> None:
    """Series and time name an event, the sequence rises, what is gone is cancelled (RFC 5545, 3.8.1.11)."""
    plan = sample_plan()
    gone = START + timedelta(days=3)
    made = Replan("f" * 64, 4.0, gone, gone, 0, 0, True, (), {}, plan_hash(plan)[:16], 2, (gone,))
    first = icalendar.Calendar.from_ical(schedule_ics(plan)).walk("VEVENT")
    later = icalendar.Calendar.from_ical(schedule_ics(replace(plan, replan=made))).walk("VEVENT")
    assert {str(event["uid"]) for event in first} < {str(event["uid"]) for event in later}
    assert {event["sequence"] for event in first} == {0}
    assert {event["sequence"] for event in later} == {2}
    cancelled = [event for event in later if str(event["status"]) == "CANCELLED"]
    assert [event.decoded("dtstart") for event in cancelled] == [gone.astimezone(UTC)]
