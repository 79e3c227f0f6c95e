"""Goals in the order of the user, from the command line to the plan."""

import json
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from planner.api import PlanRequest
from planner.api.reading import read_job
from planner.errors import RecordError
from planner.pipeline.run import run
from planner.pipeline.task import due_sections
from planner.pipeline.verify import faults
from planner.report.exports.plan_json import plan_json
from planner.report.text.goals import goal_blocks
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    folder = write_small_job(tmp_path_factory.mktemp("prefer") / "glider")
    request = PlanRequest((folder,), effort="quick", start="2026-12-01T18:00", prefer=("visits", "finish"))
    return read_job(request, NOW)


def test_the_plan_tells_its_goals_in_the_order_of_the_user(job):
    """Visits first, then the finish, then the usual order, in the record and on the sheet."""
    plan = run(job)
    names = ["visits", "finish", "sections", "hands", "risk", "pairs", "changeovers", "spools"]
    assert [goal.name for goal in plan.goals] == names
    assert [goal["goal"] for goal in json.loads(plan_json(plan))["goals"]] == names
    assert len(goal_blocks(plan)) == 2
    assert faults(plan) == ()


def test_a_section_is_due_at_the_end_of_its_day(job):
    """On the clock of the workshop: 5 December in Lisbon ends at midnight UTC."""
    dated = replace(job, airframe=replace(job.airframe, section_dates={"fuselage": date(2026, 12, 5)}))
    assert due_sections(dated) == {"fuselage": datetime(2026, 12, 6, tzinfo=UTC)}


def test_a_date_for_a_section_that_no_part_has_is_refused(job):
    """The message names the section and those that there are."""
    with pytest.raises(RecordError, match=r"rudder.*fuselage"):
        replace(job.airframe, section_dates={"rudder": date(2026, 12, 5)})
