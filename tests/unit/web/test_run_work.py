"""The process of one plan or study: what it tells the page, what it keeps, and how it fails."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

from planner import api
from planner.api import PlanRequest, going_on
from planner.errors import Infeasible
from planner.tradeoffs.study import Study, Wishes
from planner.web.jobs import run_work, worker
from planner.web.settings import DEFAULTS, request_for
from planner.web.views import onward_view
from planner.web.views.card import CARD
from planner.web.views.changes import CHANGES
from planner.web.views.plan_stamp import ONWARD, PLAN, plan_stamp
from planner.web.words import say
from planner.web.workspace import BESIDE, FULL, OWN, RESULTS, STUDY, read_record, write_record
from tests.plan_samples import sample_plan


class Pipe:
    """The page's end of the pipe."""

    def __init__(self) -> None:
        self.told: list[tuple[str, Any]] = []

    def send(self, message: tuple[str, Any]) -> None:
        self.told.append(message)


@pytest.fixture(autouse=True)
def _here(monkeypatch: pytest.MonkeyPatch) -> None:
    """The work is done in this process, which must not end with its parent."""
    monkeypatch.setattr(worker, "alone", lambda: None)


def planned(folder: Path, stop: threading.Event) -> Pipe:
    pipe: Any = Pipe()
    run_work.plan(pipe, stop, str(folder), {**DEFAULTS, "seed": 7}, None, "rev 1")  # type: ignore[arg-type]
    return pipe  # type: ignore[no-any-return]


def test_a_plan_is_told_and_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its steps, then done; with the choices that it was made of, and the results in their folder."""
    asked: list[PlanRequest] = []

    def plan_folder(request: PlanRequest, now: Any, report: Any, stop: Any, first: Any) -> None:
        asked.append(request)
        assert now.tzinfo is not None
        report("estimate", 1, 2)
        assert stop() is False
        first(sample_plan())
        assert read_record(tmp_path, PLAN) is None  # the folder has not got its place yet

    monkeypatch.setattr(api, "plan_folder", plan_folder)
    pipe = planned(tmp_path, threading.Event())
    assert pipe.told == [("progress", ("estimate", 1, 2)), ("done", None)]
    assert (asked[0].sources, asked[0].out, asked[0].seed) == ((tmp_path,), tmp_path / RESULTS, 7)
    view = read_record(tmp_path, PLAN)
    assert view is not None
    assert (view["revision"], view["stopped"]) == ("rev 1", False)
    assert plan_stamp(view).endswith(view["made"])
    card = read_record(tmp_path, CARD)
    assert card is not None
    assert "Shoreline survey glider" in card["title"]


def test_a_search_that_was_stopped_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(api, "plan_folder", lambda *given: given[-1](sample_plan()))
    stop = threading.Event()
    stop.set()
    planned(tmp_path, stop)
    assert (read_record(tmp_path, PLAN) or {})["stopped"] is True


def test_a_refusal_is_told_in_its_words_and_nothing_is_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A bug has no words for people; where it happened goes to the terminal."""

    def refuse(*_: object) -> None:
        raise Infeasible("no bed takes it.", where="keel", next_step="Turn it.")

    monkeypatch.setattr(api, "plan_folder", refuse)
    assert planned(tmp_path, threading.Event()).told == [("failed", "keel: no bed takes it. Turn it.")]
    assert capsys.readouterr().err == ""

    def bug(*_: object) -> None:
        raise KeyError("surprise")

    monkeypatch.setattr(api, "plan_folder", bug)
    assert planned(tmp_path, threading.Event()).told == [("failed", "")]
    assert "KeyError: 'surprise'" in capsys.readouterr().err
    assert read_record(tmp_path, PLAN) is None


@pytest.mark.parametrize("number", FULL)
def test_a_full_disk_is_told_and_the_plan_of_before_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], number: int
) -> None:
    """What the page shows and the results folder are of one plan, though the disk was full between them."""
    write_record(tmp_path, PLAN, {"made": "before"})

    def full(*given: Any) -> None:
        given[-1](sample_plan())
        raise OSError(number, "no room")

    monkeypatch.setattr(api, "plan_folder", full)
    assert planned(tmp_path, threading.Event()).told == [("failed", say("disk_full"))]
    assert read_record(tmp_path, PLAN) == {"made": "before"}
    assert [path.name for path in (tmp_path / OWN).iterdir()] == [PLAN]
    assert capsys.readouterr().err == ""


def test_a_study_is_quick_and_goes_beside_the_results(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the wishes as they were given."""
    seen: list[Any] = []

    def tradeoff_folder(request: PlanRequest, wanted: Any, now: Any, report: Any) -> Study:
        seen.extend((request, wanted))
        report("plan", 0, 1)
        return Study(sample_plan(), Wishes(mass_g=700.0), {}, (), (), refusal="nothing is light enough")

    monkeypatch.setattr(api, "tradeoff_folder", tradeoff_folder)
    pipe: Any = Pipe()
    wanted = {"mass_at_most_g": 700.0, "balance_inside": True}
    settings = {**DEFAULTS, "effort": "thorough"}
    run_work.study(pipe, threading.Event(), str(tmp_path), settings, None, "rev 2", wanted)  # type: ignore[arg-type]
    assert pipe.told == [("progress", ("plan", 0, 1)), ("done", None)]
    assert (seen[0].effort, seen[0].out) == ("quick", tmp_path / STUDY)
    assert seen[1] == api.TradeoffRequest(mass_at_most_g=700.0, balance_inside=True)
    kept = read_record(tmp_path, CHANGES)
    assert kept is not None
    assert (kept["revision"], kept["refused"]) == ("rev 2", True)
    monkeypatch.setattr(api, "tradeoff_folder", lambda *_: 1 / 0)
    run_work.study(pipe, threading.Event(), str(tmp_path), settings, None, "rev 3", wanted)  # type: ignore[arg-type]
    assert pipe.told[-1] == ("failed", "")
    assert read_record(tmp_path, CHANGES) == kept


def test_a_plan_that_goes_on_is_kept_beside_the_one_that_holds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it would show, and of which plan; nothing of the page's own record is touched."""
    asked: list[tuple[PlanRequest, Path]] = []

    def plan_beside(request: PlanRequest, into: Path, now: Any, report: Any, stop: Any) -> object:
        asked.append((request, into))
        report("replan", 0, 1)
        if request.seed == 13:
            raise Infeasible("no plan is possible.", next_step="Add printers.")
        if request.seed == 14:
            raise ZeroDivisionError
        return sample_plan()

    monkeypatch.setattr(going_on, "plan_beside", plan_beside)
    monkeypatch.setattr(onward_view, "plan_view", lambda plan: {"measures": {}, "finish": "Fri"})
    write_record(tmp_path, PLAN, {"identification": "aa", "made": "bb", "measures": {"beds": 2}})
    ends = []
    for seed in (7, 13, 14):
        pipe: Any = Pipe()
        settings = {**DEFAULTS, "seed": seed, "start": "2026-12-02T08:00"}
        run_work.onward(pipe, threading.Event(), str(tmp_path), settings, None, "rev 2")  # type: ignore[arg-type]
        assert pipe.told[0] == ("progress", ("replan", 0, 1))
        ends.append(pipe.told[-1])
    assert ends == [("done", None), ("failed", "no plan is possible. Add printers."), ("failed", "")]
    request, into = asked[0]
    assert (request.out, into, request.start) == (
        tmp_path / RESULTS, tmp_path / OWN / BESIDE, "2026-12-02T08:00",
    )  # fmt: skip
    kept = read_record(tmp_path, ONWARD) or {}
    assert (kept["base"], kept["facts"], kept["view"]["revision"]) == ("aa bb", 0, "rev 2")
    assert (read_record(tmp_path, PLAN) or {})["made"] == "bb"


def test_anew_is_asked_for_each_time(tmp_path: Path) -> None:
    """It is no setting that lasts."""
    assert request_for(tmp_path, dict(DEFAULTS), None).anew is False
    assert request_for(tmp_path, {**DEFAULTS, "anew": True}, None).anew is True
    assert request_for(tmp_path, {**DEFAULTS, "anew": "yes"}, None).anew is False
