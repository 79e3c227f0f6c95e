"""Words about an earlier plan: delays, beds with times, and refusals before anything is planned."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from planner.api import since
from planner.api.since import SinceRequest, beds_and_times, plan_path, plan_since, tolerance_of
from planner.errors import InputError, PlanFault, RecordError
from planner.model.attendance import Attendance
from planner.model.replan import Marks
from tests.plan_samples import sample_plan

START = datetime(2026, 12, 2, 8, 0, tzinfo=ZoneInfo("Europe/Lisbon"))


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("4h", 4.0),
        ("90min", 1.5),
        ("1d", 24.0),
        ("0", 0.0),
        (" 2.5 h ", 2.5),
        ("365d", 8760.0),
        ("0.125", 0.125),
    ],
)
def test_a_delay_in_hours(text: str, hours: float) -> None:
    """Hours where no unit stands; a year at most."""
    assert tolerance_of(text) == hours


@pytest.mark.parametrize("text", ["", "h", "-1h", "4 weeks", "366d", "8760.001", "1e3", "nan", "1,5h"])
def test_what_is_no_delay_is_refused(text: str) -> None:
    with pytest.raises(InputError) as caught:
        tolerance_of(text)
    assert str(caught.value) == f"--tolerate: {text!r} is no delay. Write it like 4h, 90min or 1d."


def test_beds_and_the_times_that_stand_with_them() -> None:
    """An equals sign belongs to a name unless a year follows it."""
    words = ["bed 1", "bed 2=2026-12-02T21:30", "odd=name", "a=b = 2026-12-03T08:00"]
    assert beds_and_times(words) == (
        ("bed 1", "bed 2", "odd=name", "a=b"),
        {"bed 2": "2026-12-02T21:30", "a=b": "2026-12-03T08:00"},
    )
    assert beds_and_times([]) == ((), {})


def test_a_results_folder_stands_for_its_plan(tmp_path: Path) -> None:
    assert plan_path(tmp_path) == tmp_path / "plan.json"
    assert plan_path(tmp_path / "old.json") == tmp_path / "old.json"


def _job(name: str = "glider", *parts: str) -> Any:
    airframe = SimpleNamespace(name=name, parts=[SimpleNamespace(name=one) for one in parts])
    shop = SimpleNamespace(attendance=Attendance(zone="Europe/Lisbon"))
    return SimpleNamespace(airframe=airframe, workshop=shop, start=START, meshes={})


def test_times_are_on_the_clock_of_the_workshop() -> None:
    """Written without an offset, or with one."""
    at = {"bed 1": "2026-12-02T07:30", "bed 2": "2026-12-02T09:30+02:00"}
    asked = SinceRequest(Path("out"), Marks(done=("bed 1",), failed=("bed 2",)), at=at)
    found = since.moments(asked, _job())
    assert {bed: one.isoformat() for bed, one in found.items()} == {
        "bed 1": "2026-12-02T07:30:00+00:00",
        "bed 2": "2026-12-02T07:30:00+00:00",
    }


@pytest.mark.parametrize("mark", ["done", "failed", "running"])
def test_a_time_that_is_none_blames_its_own_option(mark: str) -> None:
    asked = SinceRequest(Path("out"), Marks(**{mark: ("bed 1",)}), at={"bed 1": "2026-25-25"})
    with pytest.raises(RecordError, match="'2026-25-25' is not a date and time") as caught:
        since.moments(asked, _job())
    assert caught.value.where == f"--{mark}"


def test_a_plan_of_another_airframe_is_refused(tmp_path: Path) -> None:
    """By its parts: one in common is enough."""
    earlier: Any = SimpleNamespace(airframe="Kite", parts={"keel": None})
    with pytest.raises(RecordError) as caught:
        plan_since(_job("Glider", "wing"), SinceRequest(tmp_path), earlier, False, None, None)
    assert caught.value.what == "this is a plan of 'Kite'; none of its parts is in 'Glider'."
    assert caught.value.where == str(tmp_path / "plan.json")


def test_marks_times_and_tolerance_are_handed_on_and_the_check_is_asked(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What the check finds is raised whole; without the check nobody asks it."""
    made, seen = sample_plan(), []

    def run_since(job: object, earlier: object, marks: Marks, tolerance: float, *_: object) -> object:
        seen.append((earlier, marks, tolerance))
        return made

    monkeypatch.setattr("planner.pipeline.replan.replan.run_since", run_since)
    monkeypatch.setattr("planner.pipeline.replan.verify.since_faults", lambda *_: ["bed 1 moved", "lost"])
    earlier: Any = SimpleNamespace(airframe="Glider", parts={"wing": None, "keel": None})
    marks = Marks(done=("bed 1",))
    asked = SinceRequest(Path("out"), marks, 2.5, {"bed 1": "2026-12-02T07:30"})
    assert plan_since(_job("Glider", "wing"), asked, earlier, False, None, None) is made
    at = {"bed 1": datetime(2026, 12, 2, 7, 30, tzinfo=ZoneInfo("Europe/Lisbon"))}
    assert seen == [(earlier, replace(marks, at=at), 2.5)]
    with pytest.raises(PlanFault) as caught:
        plan_since(_job("Glider", "wing"), asked, earlier, True, None, None)
    assert caught.value.what == "the plan does not go on from the earlier one: bed 1 moved; lost"
