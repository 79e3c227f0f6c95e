"""What the first plan promised: read from itself, carried by later ones, and nothing from what is broken."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from planner.io.results.plan_first import read_first
from planner.model.first_plan import FirstPlan
from planner.model.learned import Taught
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan

PLAN = sample_plan()
FINISH = PLAN.schedule.finish.replace(microsecond=0)  # a file tells whole seconds


def written(tmp_path: Path, record: Any) -> Path:
    path = tmp_path / "plan.json"
    path.write_text(record if isinstance(record, str) else json.dumps(record), encoding="utf-8")
    return path


def test_a_first_plan_tells_what_it_promises(tmp_path: Path) -> None:
    found = read_first(written(tmp_path, plan_json(PLAN)))
    assert found is not None
    assert found.mass_g == pytest.approx(PLAN.mass.total_g, abs=0.001)
    assert (found.low_g, found.high_g) == pytest.approx((PLAN.mass.low_g, PLAN.mass.high_g), abs=0.001)
    assert found.printed_g == pytest.approx(PLAN.mass.printed_g, abs=0.001)
    assert found.station_mm == pytest.approx(PLAN.balance.station_mm, abs=0.001)
    assert found.print_hours == pytest.approx(sum(PLAN.schedule.print_hours.values()), abs=0.01)
    assert (found.start, found.finish) == (PLAN.start, FINISH)
    assert (found.cost_minor, found.beds) == (PLAN.cost.total_minor, len(PLAN.batches))
    grams = sum(use.grams_used + use.grams_purged for use in PLAN.spools)
    assert found.filament_g == pytest.approx(grams, abs=0.05)


def test_it_is_carried_whole_by_a_later_plan(tmp_path: Path) -> None:
    """A plan that goes on tells the promise of the first one, not its own."""
    first = FirstPlan(PLAN.start, FINISH, 500.0, 480.0, 520.0, 300.0, 41.5, 40.25, 12345, 7, {"grey": 12.5})
    text = plan_json(replace(PLAN, taught=Taught(facts=3, first=first)))
    assert read_first(written(tmp_path, text)) == first


def test_a_later_plan_that_carries_nothing_promises_nothing(tmp_path: Path) -> None:
    record = json.loads(plan_json(PLAN))
    record["replan"] = {"generation": 2}
    assert read_first(written(tmp_path, record)) is None


@pytest.mark.parametrize(
    ("broken", "lost"),
    [
        ({"mass": 5}, ("mass_g", "low_g", "high_g", "printed_g")),
        ({"cost": {"total": "much"}}, ("cost_minor",)),
        ({"balance": None}, ("station_mm",)),
        ({"schedule": {"finish": "2026-12-05T12:00:00+00:00"}}, ("print_hours",)),
    ],
)
def test_what_cannot_be_used_is_left_out(
    tmp_path: Path, broken: dict[str, Any], lost: tuple[str, ...]
) -> None:
    found = read_first(written(tmp_path, {**json.loads(plan_json(PLAN)), **broken}))
    assert found is not None
    assert all(getattr(found, key) is None for key in lost)


@pytest.mark.parametrize(
    "text", ["[]", "{", '{"start": "soon"}', '{"start": "2026-12-01T18:00", "schedule": {"finish": 5}}']
)
def test_what_is_no_plan_promises_nothing(tmp_path: Path, text: str) -> None:
    assert read_first(written(tmp_path, text)) is None
    assert read_first(tmp_path / "nowhere.json") is None


def test_values_of_other_kinds_carry_nothing(tmp_path: Path) -> None:
    text = json.loads(plan_json(PLAN))
    text["ledger"] = {"facts": 1, "first": {"start": "x", "finish": "y"}}
    assert read_first(written(tmp_path, text)) is None
    told = {"start": PLAN.start.isoformat(), "finish": PLAN.start.isoformat(), "mass_g": True, "spools": 3}
    text["ledger"] = {"facts": 1, "first": told}
    found = read_first(written(tmp_path, text))
    assert found is not None
    assert (found.mass_g, dict(found.spools), found.beds) == (None, {}, 0)
    assert found.start == datetime.fromisoformat(PLAN.start.isoformat())
