"""The calendar of visits."""

from datetime import UTC, timedelta

import icalendar
import pytest

from planner.report.calendar import schedule_ics
from planner.report.plan_json import plan_hash
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
