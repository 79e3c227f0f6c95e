"""The risk of a plan that is there: the numbers of planning, and nothing is planned or written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import planner
from planner.api.living import lived_through, risk_text
from planner.errors import RecordError
from planner.io.results.worlds_file import WORLDS
from planner.model.risk import RiskAsked
from tests.small_job import write_small_job

ASKED = RiskAsked(150, 0.1)


@pytest.fixture(name="out", scope="module")
def _out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The results of a plan that was made with worlds."""
    folder = write_small_job(tmp_path_factory.mktemp("kit") / "glider")
    out = folder.parent / "out"
    planner.plan(folder, effort="quick", start="2026-12-01T18:00", risk=150, missed=0.1, out=out, cache=False)
    return out


def test_a_plan_that_is_there_has_the_risk_that_planning_told(out: Path) -> None:
    """To the last digit of plan.json; the folder stays as it is."""
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    found = lived_through(out, ASKED)
    plan = json.loads((out / "plan.json").read_text(encoding="utf-8"))
    assert json.loads(risk_text(found, as_json=True)) == plan["risk"]
    assert found.finish.isoformat() == plan["schedule"]["finish"]
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before
    assert "Lived through in 150 worlds" in risk_text(found, as_json=False)


def test_other_worlds_are_others(out: Path) -> None:
    """As many as are asked for."""
    assert lived_through(out, RiskAsked(40)).risk.chances.asked == RiskAsked(40)


def test_without_a_plan_nothing_is_told(out: Path, tmp_path: Path) -> None:
    """An empty folder, and one whose file is gone."""
    with pytest.raises(RecordError, match=WORLDS):
        lived_through(tmp_path, ASKED)
