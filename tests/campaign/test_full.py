"""A short run of plans without room on the disk, and that their oracles tell what is wrong."""

from __future__ import annotations

import contextlib
import json
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

if sys.platform != "linux":
    pytest.skip("limits and processes are those of Linux", allow_module_level=True)

from planner.web.words import say
from tests.campaign import full
from tests.campaign.served import Answer, Served

ROOM = say("disk_full")


@pytest.mark.slow
def test_a_plan_without_room() -> None:
    """It is told, the plan of before is whole, and the next one is made when there is room."""
    case = full.case(0, 1)
    assert case.fault == ""
    assert case.reached in ("failed", "done")


def planned(folder: Path, made: str = "abcdef", shown: str = "abc") -> Path:
    """Results and what the page shows of them."""
    (folder / "plan").mkdir(parents=True)
    (folder / ".page").mkdir()
    (folder / "plan" / "plan.json").write_text(json.dumps({"identification": made}), encoding="utf-8")
    (folder / "plan" / "written.json").write_text('["plan.json"]', encoding="utf-8")
    (folder / ".page" / "plan.json").write_text(json.dumps({"identification": shown}), encoding="utf-8")
    return folder


def test_two_plans_and_what_is_left_are_told(tmp_path: Path) -> None:
    """The page shows what the folder holds, and nothing lies beside it."""
    assert full.of_one_plan(planned(tmp_path / "a")) == ""
    other = planned(tmp_path / "b", shown="dd")
    assert full.of_one_plan(other) == "the page shows another plan than that of the results folder"
    whole = tmp_path / "a"
    before = full.state(whole)
    (whole / ".page" / ".plan.json-x1").touch()
    assert full.of_one_plan(whole) == ".page/.plan.json-x1 is left"
    assert full.state(whole) != before
    (whole / "plan" / "plan.json").unlink()
    assert "not whole" in full.of_one_plan(whole)


def test_words_for_a_full_disk() -> None:
    """Its own, or those of results that cannot be written; not those of a bug or of a process that ended."""
    assert full.said_well(ROOM) == ""
    assert full.said_well("plan: the results cannot be written (No space left on device).") == ""
    assert [bool(full.said_well(text)) for text in ("", say("bug"), say("process_ended"))] == [True] * 3


class Page(Served):
    """A page whose plans end as they are told to, after something was done to the workspace."""

    message = ROOM
    state = "failed"

    def ask(self, method: str, path: str, *_: Any, **__: Any) -> Answer:
        """Begun, then over."""
        del path
        ended = {"begun": True} if method == "POST" else {"state": self.state, "message": self.message}
        if method == "GET" and self.state == "changes":
            (self.workspace / "glider" / "plan" / "plan.json").write_text("{}", encoding="utf-8")
            ended["state"] = "failed"
        return Answer(200, json.dumps(ended).encode())


@pytest.mark.parametrize(
    ("state", "message", "fault"),
    [
        ("failed", ROOM, ""),
        ("failed", say("bug"), "told as a bug"),
        ("changes", ROOM, "plan/plan.json is not as it was"),
        ("hung", "", "it ended as hung"),
        ("done", "", ""),
    ],
)
def test_how_a_plan_ends_is_judged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, state: str, message: str, fault: str
) -> None:
    """With what became of the plan of before."""

    @contextlib.contextmanager
    def no_limit(*_: Any) -> Iterator[None]:
        yield

    monkeypatch.setattr(full, "small_files", no_limit)
    planned(tmp_path / "glider")
    page: Any = Page(tmp_path, tmp_path / "log")
    page.process, page.state, page.message = SimpleNamespace(pid=os.getpid()), state, message
    told = full.tried(page, "run", 10, 0.0, small=True)[1]
    assert fault in told
    assert bool(fault) == bool(told)


def test_room_is_taken_and_given_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All but what is asked for."""
    there = SimpleNamespace(f_bavail=3, f_frsize=4096)
    monkeypatch.setattr(full.os, "statvfs", lambda _: there)
    with full.filled(tmp_path, 4096):
        assert (tmp_path / ".taken").stat().st_size == 2 * 4096
    assert list(tmp_path.iterdir()) == []


def test_the_same_seed_draws_the_same_room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """From none to more than a plan takes."""
    (tmp_path / "glider").mkdir()
    (tmp_path / "glider" / "a").write_bytes(bytes(1000))
    monkeypatch.setattr(full, "template", lambda: tmp_path)
    drawn = [full.drawn(np.random.default_rng(n)) for n in range(60)]
    assert drawn == [full.drawn(np.random.default_rng(n)) for n in range(60)]
    assert min(drawn) < 1000 < max(drawn)
