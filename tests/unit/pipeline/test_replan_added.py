"""A printer of another kind is added, or has to do for one that is away: beds are laid again for it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from planner.api import PlanRequest, SinceRequest, plan_folder
from planner.io.results.plan_file import read_plan
from planner.model.plan import Plan
from planner.model.replan import Marks
from tests.small_job import write_small_job

NOW = datetime(2026, 12, 1, 18, 0, tzinfo=UTC)
ROUND = '[[printer]]\nname = "round"\nlike = "round 300"\nminutes_factor = 1\n'
LARGE = '\n[[printer]]\nname = "large"\nlike = "large 350"\ncount = 2\n'


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Forty tall tubes on one printer: days of printing."""
    folder = tmp_path_factory.mktemp("kit")
    write_small_job(folder / "glider")
    rewrite(folder, "workshop.toml", lambda text: text.replace(ROUND, ""))
    rewrite(
        folder,
        "airframe.toml",
        lambda text: text.replace('mesh = "fuselage.stl"\n', 'mesh = "fuselage.stl"\ncopies = 40\n'),
    )
    plan_folder(request(folder, "out"), NOW)
    return folder


@pytest.fixture
def kit(planned: Path, tmp_path: Path) -> Path:
    """That folder, to be changed."""
    shutil.copytree(planned, tmp_path, dirs_exist_ok=True)
    return tmp_path


def rewrite(folder: Path, name: str, change: Callable[[str], str]) -> None:
    path = folder / "glider" / name
    path.write_text(change(path.read_text(encoding="utf-8")), encoding="utf-8")


def request(folder: Path, out: str) -> PlanRequest:
    return PlanRequest(
        (folder / "glider",), out=folder / out, effort="quick", start="2026-12-01T18:00", verify=True
    )


def again(folder: Path, out: str, tolerance_h: float) -> Plan:
    asked = SinceRequest(folder / "out", Marks(), tolerance_h)
    return plan_folder(replace(request(folder, out), since=asked), NOW)


@pytest.mark.slow
def test_an_added_printer_takes_open_beds_of_another_shape(kit: Path) -> None:
    """Two large printers halve the days; what is laid again has new names and every piece is printed once."""
    before = read_plan(kit / "out" / "plan.json")
    rewrite(kit, "workshop.toml", lambda text: text + LARGE)
    plan = again(kit, "more", 4.0)
    assert plan.schedule.finish < before.finish - timedelta(hours=4)
    assert {run.printer for run in plan.schedule.runs} & {"large 1", "large 2"}
    assert plan.replan is not None
    gone = [change for change in plan.replan.changes if change.kind == "dropped"]
    assert gone
    assert all(change.note == "laid again: for printers that no open bed was for" for change in gone)
    names = {batch.name for batch in before.batches}
    assert all(b.name not in names for b in plan.batches if b.printer_kind != "desktop 220")


@pytest.mark.slow
def test_beds_stay_where_the_gain_is_tolerated_away(kit: Path) -> None:
    """With a month of delay tolerated nothing is laid again."""
    before = read_plan(kit / "out" / "plan.json")
    rewrite(kit, "workshop.toml", lambda text: text + LARGE)
    plan = again(kit, "same", 24.0 * 30.0)
    assert [(r.batch, r.printer, r.start) for r in plan.schedule.runs] == [
        (r.batch, r.printer, r.start) for r in before.runs
    ]


@pytest.mark.slow
def test_beds_of_a_printer_that_is_away_go_to_one_of_another_kind(tmp_path: Path) -> None:
    """It has beds of its own, too; nobody waits a week for a printer where another one has the time."""
    write_small_job(tmp_path / "glider")
    before = plan_folder(request(tmp_path, "out"), NOW)
    assert {run.printer for run in before.schedule.runs} == {"small", "round"}
    away = 'name = "small"\naway = [{ from = 2026-12-01, until = 2026-12-08 }]\n'
    rewrite(tmp_path, "workshop.toml", lambda text: text.replace('name = "small"\n', away))
    plan = again(tmp_path, "more", 4.0)
    assert {run.printer for run in plan.schedule.runs} == {"round"}
    assert plan.schedule.finish < before.schedule.finish + timedelta(days=2)
    waits = again(tmp_path, "same", 24.0 * 30.0)
    assert {run.batch: run.printer for run in waits.schedule.runs} == {
        run.batch: run.printer for run in before.schedule.runs
    }
