"""Hours without a zone are those of the computer, and the plan says so."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from planner.api import PlanRequest, draft_files, plan_folder, read_records, zone_name
from planner.io.toml_file import read_toml
from planner.model.plan import Plan
from planner.report.lookup import Lookup
from planner.report.sheets.timetable_sheet import timetable_sheets
from tests.small_job import write_small_job

NOW = datetime(2026, 7, 1, 12, 0, tzinfo=UTC)
ZONE = "America/St_Johns"  # two and a half hours behind UTC in summer


def planned(folder: Path, zone: str | None, text: str | None) -> Plan:
    write_small_job(folder / "glider")
    path = folder / "glider" / "workshop.toml"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    request = PlanRequest((folder / "glider",), out=folder / "out", effort="quick", verify=True)
    return plan_folder(replace(request, start="2026-07-01T18:00", zone=zone), NOW)


def test_hours_without_a_zone_are_those_of_the_computer(tmp_path: Path) -> None:
    """07:00 until 22:00 on the clock of the workshop, not in UTC; assumptions, JSON and timetable tell it."""
    write_small_job(tmp_path / "glider")
    text = (tmp_path / "glider" / "workshop.toml").read_text(encoding="utf-8")
    plan = planned(tmp_path, ZONE, text.replace('time_zone = "Europe/Lisbon"\n', ""))
    assert plan.workshop.attendance.zone == ZONE
    assert plan.start == datetime(2026, 7, 1, 20, 30, tzinfo=UTC)
    assert f"no time_zone is given: hours are those of this computer, {ZONE}" in plan.assumptions
    assert all(7 <= visit.at.hour < 22 for visit in plan.schedule.visits)
    assert plan.schedule.visits[0].at.utcoffset() == plan.start.utcoffset()
    assert f"{ZONE} time" in str(timetable_sheets(Lookup(plan)))
    report = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    assert f"hours are those of this computer, {ZONE}" in report
    assert f"the plan at a glance, in {ZONE} time" in report


def test_a_zone_that_is_given_holds(tmp_path: Path) -> None:
    """The computer stands elsewhere: nothing is assumed."""
    plan = planned(tmp_path, ZONE, None)
    assert plan.workshop.attendance.zone == "Europe/Lisbon"
    assert not any("time_zone" in text for text in plan.assumptions)


def test_where_no_zone_is_known_utc_is_told(tmp_path: Path) -> None:
    """Neither file nor computer says one."""
    write_small_job(tmp_path / "glider")
    text = (tmp_path / "glider" / "workshop.toml").read_text(encoding="utf-8")
    plan = planned(tmp_path, None, text.replace('time_zone = "Europe/Lisbon"\n', ""))
    assert "no time_zone is given: hours are taken in UTC" in plan.assumptions


def test_the_draft_names_the_zone(tmp_path: Path) -> None:
    """It stands in the file, and the file is read; without one it is a comment."""
    write_small_job(tmp_path / "glider")
    for name in ("workshop.toml", "airframe.toml"):
        (tmp_path / "glider" / name).unlink()
    draft_files(tmp_path / "glider", zone=ZONE)
    draft = tmp_path / "glider" / "workshop.toml"
    assert read_toml(draft).values["time_zone"] == ZONE
    shop = read_records(None, draft.read_text(encoding="utf-8"), (), name="x", zone="Asia/Tokyo").workshop
    assert shop.attendance.zone == ZONE
    draft_files(tmp_path / "glider", tmp_path)
    assert "time_zone" not in read_toml(tmp_path / "workshop.toml").values


@pytest.mark.parametrize(
    ("text", "zone"),
    [
        ("Etc/UTC", "UTC"),
        (ZONE, ZONE),
        ("Mars/Base", None),
        ("../../etc/passwd", None),
        (7, None),
        ("", None),
    ],
)
def test_only_names_of_the_database_are_zones(text: object, zone: str | None) -> None:
    """What a browser sends is not trusted."""
    assert zone_name(text) == zone
