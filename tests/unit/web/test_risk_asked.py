"""A plan of the page is lived through in as many worlds as were asked for, and tells number and seed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.errors import InputError, RecordError
from planner.model.risk import RiskAsked
from planner.pipeline.risk import with_risk
from planner.web.settings import DEFAULTS, keep_settings, request_for, risk_asked, settings_of
from planner.web.views.plan_stamp import PLAN
from planner.web.views.plan_view import plan_view
from planner.web.workspace import write_record
from tests.plan_samples import sample_plan
from tests.unit.web.page_desk import airframe_in, client_of, desk_at

MADE = {"revision": "r", "stopped": False, "made": "2026-12-01T18:00:00+00:00"}


def test_worlds_go_into_what_is_asked_of_a_plan(tmp_path: Path) -> None:
    """None by default; kept beside the records until others are given."""
    assert risk_asked(dict(DEFAULTS)) is None
    keep_settings(tmp_path, {"worlds": 400, "missed": 0.1})
    assert request_for(tmp_path, settings_of(tmp_path), None).risk == RiskAsked(400, 0.1)
    keep_settings(tmp_path, {"worlds": None, "missed": None})
    assert request_for(tmp_path, settings_of(tmp_path), None).risk is None


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"worlds": 0}, "worlds of the risk"),
        ({"worlds": 20_001}, "worlds of the risk"),
        ({"worlds": 2.5}, "simulated worlds: '2.5' must be a whole number"),
        ({"worlds": "many"}, "simulated worlds: 'many' must be a whole number"),
        ({"worlds": True}, "must be a whole number"),
        ({"worlds": 10, "missed": 0.95}, "missed visit"),
        ({"worlds": 10, "missed": "often"}, "'often' must be a number"),
        ({"missed": 0.1}, "in simulated worlds only"),
    ],
)
def test_what_is_wrong_is_refused_and_not_kept(tmp_path: Path, given: dict[str, Any], words: str) -> None:
    """With the field and its limits."""
    with pytest.raises((RecordError, InputError), match=words):
        keep_settings(tmp_path, given)
    assert settings_of(tmp_path) == DEFAULTS


def test_sheets_tell_in_how_many_worlds_and_from_which_seed(tmp_path: Path) -> None:
    """Plan and Timetable; a plan that was not lived through says so where the worlds would stand."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    client = client_of(desk)
    try:
        write_record(folder, PLAN, {**plan_view(sample_plan()), **MADE})
        assert "was not lived through" in client.get("/a/glider/timetable").text
        plain = client.get("/a/glider/plan")
        assert (plain.status_code, 'id="risk-told"' in plain.text) == (200, False)
        lived = with_risk(sample_plan(), RiskAsked(300, 0.1))
        write_record(folder, PLAN, {**plan_view(lived), **MADE})
        for sheet in ("plan", "timetable"):
            shown = client.get(f"/a/glider/{sheet}").text
            assert f"300 simulated worlds, search number {lived.seed}, 10 % of visits missed" in shown, sheet
        assert "Beds that the finish hangs on" in client.get("/a/glider/timetable").text
        assert "Half of the worlds are done by" in client.get("/a/glider/plan").text
    finally:
        desk.close()
