"""The plan of the page is lived through when it is there, and shown as if it had been made so."""

from __future__ import annotations

import json
import threading
import time
from pathlib import Path
from typing import Any

import pytest

from planner.io.results.worlds_file import WORLDS, worlds_text
from planner.model.plan import Plan
from planner.model.risk import RiskAsked
from planner.pipeline.risk import livable_of, with_risk
from planner.report.lived import told_of
from planner.web.jobs import run_work, worker
from planner.web.jobs.runs import Runs, lived
from planner.web.routes.lived import LIVED_ROUTES
from planner.web.settings import settings_of
from planner.web.views.lived_view import lived_view
from planner.web.views.plan_stamp import PLAN
from planner.web.views.plan_view import plan_view
from planner.web.words import say
from planner.web.workspace import RESULTS, read_record, write_record
from tests.plan_samples import sample_plan
from tests.unit.web.page_desk import airframe_in, client_of, desk_at

ASKED = RiskAsked(80, 0.1)
MADE = {"revision": "r", "stopped": False, "made": "2026-12-01T18:00:00+00:00"}


def keep(folder: Path, plan: Plan) -> dict[str, Any]:
    """A plan as the page keeps it: its record, and of its results what worlds need."""
    write_record(folder, PLAN, {**plan_view(plan), **MADE})
    (folder / RESULTS).mkdir(exist_ok=True)
    (folder / RESULTS / WORLDS).write_bytes(worlds_text(livable_of(plan)))
    return read_record(folder, PLAN) or {}


class Pipe:
    """The page's end of the pipe."""

    def __init__(self) -> None:
        self.told: list[tuple[str, Any]] = []

    def send(self, message: tuple[str, Any]) -> None:
        self.told.append(message)


def work(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Pipe:
    """The work in this process, which must not end with its parent."""
    monkeypatch.setattr(worker, "alone", lambda: None)
    pipe: Any = Pipe()
    run_work.live(pipe, threading.Event(), str(folder), ASKED)  # type: ignore[arg-type]
    return pipe  # type: ignore[no-any-return]


def test_it_is_shown_as_if_the_plan_had_been_made_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Answer, sheet and numbers; worlds of before give way to these."""
    plan = sample_plan()
    wanted = json.loads(json.dumps(plan_view(with_risk(plan, ASKED))))
    for before in (plan, with_risk(plan, RiskAsked(20))):
        kept = keep(tmp_path, before)
        assert work(tmp_path, monkeypatch).told == [("progress", (say("risk_stage"), 0, 1)), ("done", None)]
        shown = read_record(tmp_path, PLAN)
        assert shown is not None
        assert shown["risk"] == {**wanted["risk"], "after": True}
        assert shown["answers"] == wanted["answers"]
        rest = {key for key in shown if key not in ("risk", "answers")}
        assert {key: shown[key] for key in rest} == {key: kept[key] for key in rest}


def test_a_plan_that_took_its_place_meanwhile_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its numbers are not those of the other."""
    keep(tmp_path, sample_plan())
    from planner import api

    def slow(folder: Path, asked: RiskAsked) -> Any:
        write_record(tmp_path, PLAN, {**plan_view(sample_plan()), **MADE, "made": "later"})
        return told_of(with_risk(sample_plan(), asked))

    monkeypatch.setattr(api, "lived_through", slow)
    told = work(tmp_path, monkeypatch).told[-1]
    assert told[0] == "failed"
    assert say("risk_other_plan") in told[1]
    assert (read_record(tmp_path, PLAN) or {})["risk"] is None


def test_a_plan_without_the_answer_keeps_its_answers() -> None:
    """Only the finish tells worlds."""
    found = told_of(with_risk(sample_plan(), ASKED))
    assert found is not None
    view = {"answers": [{"label": "Fits", "short": "yes", "more": ["90 % of worlds"], "act": False}]}
    assert lived_view(view, found)["answers"] == view["answers"]


def test_the_sheet_asks_and_the_route_begins(tmp_path: Path) -> None:
    """In a process of its own; the sheet tells it then, and that documents do not."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    client = client_of(desk)
    try:
        assert 'id="live-through"' not in client.get("/a/glider/plan").text
        refused = client.post("/a/glider/risk", json={"worlds": 80})
        assert (refused.status_code, say("no_plan_sheet") in refused.json()["message"]) == (422, True)
        keep(folder, sample_plan())
        assert 'id="live-through"' in client.get("/a/glider/plan").text
        refused = client.post("/a/glider/risk", json={"worlds": None, "missed": None})
        assert (refused.status_code, say("risk_how_many") in refused.json()["message"]) == (422, True)
        assert client.post("/a/glider/risk", json={"worlds": 80, "missed": 0.1}).json() == {"begun": True}
        assert (settings_of(folder)["worlds"], settings_of(folder)["missed"]) == (80, 0.1)
        until = time.monotonic() + 60.0
        while (state := client.get("/a/glider/risk").json())["state"] == "running":
            assert time.monotonic() < until
            time.sleep(0.05)
        assert state["state"] == "done", state
        shown = client.get("/a/glider/plan").text
        assert "80 simulated worlds" in shown
        assert say("risk_after") in shown
        assert client.delete("/a/glider/risk").status_code == 200
        assert {route.path for route in LIVED_ROUTES} == {"/a/{airframe}/risk"}
    finally:
        desk.close()


def test_while_a_plan_is_made_it_waits(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Refused in words; and a plan that begins ends what is being lived through."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    keep(folder, sample_plan())
    left: list[str] = []
    monkeypatch.setattr(Runs, "busy", lambda self, key: key == "glider")
    monkeypatch.setattr(Runs, "leave", lambda self, key: left.append(key))
    monkeypatch.setattr(Runs, "start", lambda self, *given, **more: True)
    try:
        client = client_of(desk)
        refused = client.post("/a/glider/risk", json={"worlds": 80})
        assert say("risk_busy") in refused.json()["message"]
        client.post("/a/glider/run", json={"worlds": None, "missed": None})
        assert left == [lived("glider")]
    finally:
        desk.close()
