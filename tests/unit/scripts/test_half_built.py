"""Half a build, told: every kind of fact, in an order in which it can have happened, the same each time."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.api import PlanRequest, plan_folder
from planner.api.ledger_place import LedgerPlace
from planner.io.results.plan_file import read_plan
from planner.ledger.store import Ledger
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import sample_plan
from tests.small_job import write_small_job

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def script(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.syspath_prepend(str(ROOT / "scripts"))
    import half_built

    yield half_built
    sys.modules.pop("half_built", None)


@pytest.fixture
def plan(tmp_path: Path):
    (tmp_path / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    return read_plan(tmp_path / "plan.json")


def test_it_stands_where_half_of_the_beds_are_over(script, plan) -> None:
    now = script.half(plan)
    over = sum(run.end <= now for run in plan.runs)
    assert over >= len(plan.runs) / 2 > over - 1


def test_it_is_told_in_the_order_of_a_build(script, plan) -> None:
    """Nothing is over before it began, nothing is told of later, and twice is the same."""
    now = max(run.end for run in plan.runs) + timedelta(hours=1)
    said = list(script.told(plan, now))
    assert said == list(script.told(plan, now))
    assert [at for at, _ in said] == sorted(at for at, _ in said)
    assert all(at <= now for at, _ in said)
    words = [one.words for _, one in said]
    for run in plan.runs:
        fates = [told[1] for told in words if told[0] == run.batch]
        assert fates in (["began", "done"], ["began", "failed"])
    (bad,) = [one for _, one in said if "failed" in one.words]
    assert len(bad.good) == 1
    beds = {placed.piece for batch in plan.batches for placed in batch.placed}
    weighed = [told for told in words if told[0] == "weighed"]
    assert weighed
    assert all(set(lot.split(" + ")) <= beds for told in weighed for lot in told[1::2])
    assert all(float(grams) > 0.0 for told in weighed for grams in told[2::2])


def test_the_demo_plans_tells_and_plans_again(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The rest is planned from the moment at which the build stands."""
    monkeypatch.syspath_prepend(str(ROOT / "scripts"))
    import demo

    asked: list[list[str]] = []

    def run(command: list[str], **_: object) -> subprocess.CompletedProcess[str]:
        asked.append(command)
        return subprocess.CompletedProcess(command, 0, "2026-12-02T17:24\n")

    monkeypatch.setattr(demo.subprocess, "run", run)
    monkeypatch.setattr(demo, "ROOT", tmp_path)
    monkeypatch.setattr(demo, "prepare", lambda: Path(sys.executable))
    monkeypatch.setattr(sys, "argv", ["demo.py", "--half-built", "--effort", "quick"])
    (tmp_path / "demo_meshes").mkdir()
    assert demo.main() == 0
    sys.modules.pop("demo")
    first, telling, second = asked
    assert telling[1].endswith("half_built.py")
    assert first[first.index("plan") :][:4] == second[second.index("plan") :][:4]
    starts = [one[one.index("--start") + 1] for one in (first, second)]
    assert starts == ["2026-12-01T18:00", "2026-12-02T17:24"]
    assert second[-2:] == ["--effort", "quick"]


@pytest.mark.slow
def test_the_rest_is_planned_on_it(script, tmp_path: Path) -> None:
    """A kit planned, told and planned again, with the plan's own check: foam is learned to be heavier."""
    write_small_job(tmp_path / "glider")
    asked = PlanRequest(
        (tmp_path / "glider",), out=tmp_path / "out", effort="quick", start="2026-12-01T18:00", verify=True
    )
    plan_folder(asked, datetime(2026, 12, 1, 18, 0, tzinfo=UTC))
    place = LedgerPlace(folder=tmp_path / "glider", plan=tmp_path / "out", zone="UTC")
    now, lines = script.tell(place)
    with Ledger(place.file) as ledger:
        kinds = {fact.kind for fact in ledger.facts()}
        assert len(lines) >= len(list(ledger.facts()))
    assert {"began", "done", "weighed", "away"} <= kinds
    from dataclasses import replace

    found = plan_folder(replace(asked, start=f"{now:%Y-%m-%dT%H:%M}"), now)
    assert found.past
    assert found.taught is not None
    assert found.taught.factors
    assert all(one.believed for one in found.taught.judged)
