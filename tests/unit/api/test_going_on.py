"""A plan that goes on, made beside the one that holds; and one folder of results in the place of another."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from planner.api import going_on
from planner.api.going_on import last_fact, plan_beside, take_results
from planner.api.ledger_place import LedgerPlace
from planner.api.recording import Told, record
from planner.api.request import PlanRequest
from planner.api.since import KEPT_FILE
from planner.errors import OutputError
from planner.report.exports.plan_json import plan_json
from tests.plan_samples import START, sample_plan

NOW = datetime(2026, 12, 2, 8, tzinfo=UTC)


@pytest.fixture(name="folder")
def _folder(tmp_path: Path) -> Path:
    """An airframe with a plan."""
    (tmp_path / "plan").mkdir()
    (tmp_path / "plan" / "plan.json").write_text(plan_json(sample_plan()), encoding="utf-8")
    (tmp_path / "workshop.toml").write_text("", encoding="utf-8")
    (tmp_path / "airframe.toml").write_text(
        f"[airframe]\nname = {json.dumps(sample_plan().airframe.name)}\n", encoding="utf-8"
    )
    return tmp_path


@pytest.fixture(name="asked")
def _asked(monkeypatch: pytest.MonkeyPatch) -> list[PlanRequest]:
    """What would be planned; planning itself is tested elsewhere."""
    asked: list[PlanRequest] = []

    def plan_folder(request: PlanRequest, now: datetime, *rest: Any) -> str:
        assert now == NOW
        asked.append(request)
        return "a plan"

    monkeypatch.setattr(going_on, "plan_folder", plan_folder)
    return asked


def test_it_goes_on_from_the_plan_that_holds(folder: Path, asked: list[PlanRequest]) -> None:
    """With facts and without; results go beside it."""
    request = PlanRequest((folder,), out=folder / "plan", tolerance_h=2.0)
    assert plan_beside(request, folder / "new", NOW) == "a plan"  # type: ignore[comparison-overlap]
    record(LedgerPlace(folder=folder, plan=folder / "plan", zone="UTC"), Told(("bed 1", "done")), START)
    plan_beside(request, folder / "new", NOW)
    for one in asked:
        assert one.out == folder / "new"
        assert one.since is not None
        assert one.since.tolerance_h == 2.0
    assert [one.since.plan for one in asked if one.since] == [folder / "plan", folder / "plan" / "plan.json"]


def test_one_that_counts_what_was_taken_back_goes_on_from_the_one_before(
    folder: Path, asked: list[PlanRequest]
) -> None:
    """As ``planner plan`` does."""
    place = LedgerPlace(folder=folder, plan=folder / "plan", zone="UTC")
    record(place, Told(("bed 1", "done")), START)
    told = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    (folder / "plan" / KEPT_FILE).write_text(json.dumps(told), encoding="utf-8")
    told["runs"][0]["mark"] = "running"
    told["ledger"] = {"facts": 1}
    (folder / "plan" / "plan.json").write_text(json.dumps(told), encoding="utf-8")
    record(place, Told(("bed 3", "done")), START)
    record(place, Told(("undo", "bed 1")), START)
    plan_beside(PlanRequest((folder,), out=folder / "plan"), folder / "new", NOW)
    assert asked[0].since is not None
    assert asked[0].since.plan == folder / "plan" / KEPT_FILE


def test_the_last_fact_is_counted(folder: Path) -> None:
    """Also one that takes another one back."""
    place = LedgerPlace(folder=folder, plan=folder / "plan", zone="UTC")
    assert last_fact(place) == 0
    record(place, Told(("bed 1", "done")), START)
    assert last_fact(place) == 1
    record(place, Told(("undo",)), START)
    assert last_fact(place) == 2


def results(folder: Path, **files: bytes) -> Path:
    """A results folder of these files."""
    for name, body in files.items():
        (folder / "beds").mkdir(parents=True, exist_ok=True)
        (folder / "beds" / name).write_bytes(body)
    (folder / "written.json").write_text(json.dumps([f"beds/{name}" for name in files]), encoding="utf-8")
    return folder


def test_results_are_taken_as_a_whole(tmp_path: Path) -> None:
    """What was there is gone; the list of files is that of the new ones."""
    out = results(tmp_path / "out", old=b"1", both=b"2")
    take_results(results(tmp_path / "made", both=b"3", new=b"4"), out)
    found = {path.name: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    assert found.pop("written.json")
    assert found == {"both": b"3", "new": b"4"}
    assert json.loads((out / "written.json").read_text(encoding="utf-8")) == ["beds/both", "beds/new"]
    take_results(tmp_path / "made", tmp_path / "fresh")
    assert (tmp_path / "fresh" / "beds" / "new").read_bytes() == b"4"


def test_foreign_files_are_never_written_over(tmp_path: Path) -> None:
    """Then all stays as it was."""
    out = results(tmp_path / "out", old=b"1")
    (out / "mine.txt").write_text("mine")
    with pytest.raises(OutputError, match=r"mine\.txt"):
        take_results(results(tmp_path / "made", new=b"4"), out)
    assert (out / "beds" / "old").read_bytes() == b"1"
