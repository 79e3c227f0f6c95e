"""A share of a day of use of the page, and that its oracles tell what is wrong."""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

if sys.platform != "linux":
    pytest.skip("processes are looked at as Linux shows them", allow_module_level=True)

from planner.web.words import say
from tests.campaign import day as days
from tests.campaign.day import Day
from tests.campaign.page import Session
from tests.campaign.served import Answer, Served


@pytest.mark.slow
def test_a_share_of_a_day() -> None:
    """Tabs, drops and plans at once, a browser that goes away, the page killed once: nothing is lost."""
    day, faults = days.lived(np.random.default_rng(1), 160, 20.0, (60, 60))
    assert faults == []
    assert day.asked >= 160
    assert day.gone > 0
    assert day.poured_mb == 240
    assert sum(day.plans.values()) >= 2
    assert 20.0 < day.served.most_mb < 200.0


class Told(Served):
    """A page that gives one answer to everything, and takes uploads as it is told to."""

    answer = Answer(200, b'{"key": "k"}')
    poured = 200

    def ask(self, *_: Any, **__: Any) -> Answer:
        """The same whatever is asked."""
        return self.answer

    def pour(self, *_: Any) -> int:
        """The status that is told."""
        return self.poured


@pytest.fixture(name="day")
def _day(tmp_path: Path) -> Day:
    """Two tabs at fifty a second together."""
    served = Told(tmp_path, tmp_path / "log")
    tabs = [Session(served, np.random.default_rng(n)) for n in range(2)]
    return Day(served, tabs, (1, 600), 50.0)


def asks(session: Session) -> None:
    """One request."""
    session.asked += 1


def test_a_tab_keeps_its_pace(day: Day) -> None:
    """Its share of the requests of a second; faults enough end it."""
    began = time.monotonic()
    days.tab(day, day.tabs[0], 6, ((1.0, asks),))
    assert day.asked == 6
    assert time.monotonic() - began >= 5 * 2 / 50.0
    day.faults = ["fault"] * days.MOST_FAULTS
    days.tab(day, day.tabs[0], 100, ((1.0, asks),))
    assert day.asked == 7


def test_what_is_not_taken_or_left_over_is_a_fault(
    day: Day, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A drop within the limit is taken, one over it is not; what is given up leaves nothing."""
    days.heaps(day)
    assert day.faults == ["a drop of 600 MB was answered with 200"]
    day.served.poured = 422  # type: ignore[attr-defined]
    days.heaps(day)
    assert day.faults[1:] == ["a drop of 1 MB was answered with 422"]
    clock = iter(range(0, 1000, 6))
    monkeypatch.setattr(days.time, "monotonic", lambda: float(next(clock)))
    (tmp_path / ".dropped" / "k").mkdir(parents=True)
    assert days.staged(day, "k") == ["a drop that was given up left []"]


def test_a_plan_that_ends_as_a_bug_is_a_fault(day: Day, monkeypatch: pytest.MonkeyPatch) -> None:
    """One that is refused, or fails in a sentence, is none."""
    ends = iter(
        [{"state": "failed", "message": "no bed takes it."}, {"state": "failed", "message": say("bug")}]
    )

    def told(*_: Any) -> dict[str, str]:
        found = next(ends)
        if found["message"] == say("bug"):
            day.over.set()
        return found

    monkeypatch.setattr(days, "told", told)
    days.plans(day, np.random.default_rng(1))
    assert day.plans["failed"] == 2
    assert len(day.faults) == 1
    assert say("bug") in day.faults[0]


def test_what_fails_beside_is_a_fault_of_the_day(day: Day) -> None:
    """It does not pass unseen in its thread."""
    with days.beside(day, lambda: json.loads("{")):
        pass
    assert "JSONDecodeError" in day.faults[0]


def test_all_tabs_are_judged_as_one(day: Day) -> None:
    """What any of them was told must be there."""
    day.tabs[0].facts, day.tabs[1].facts = {"a": ["bed 1", "done"]}, {"b": ["bed 1", "done"]}
    day.tabs[1].drops = {"kit/a.stl": "0"}
    day.tabs[0].records = "r"
    one = days.whole_session(day)
    assert (set(one.facts), one.drops, one.records) == ({"a", "b"}, {"kit/a.stl": "0"}, "r")


def test_processes_that_are_left_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """One may stay warm."""
    clock = iter(range(0, 1000, 11))
    monkeypatch.setattr(days.time, "monotonic", lambda: float(next(clock)))
    monkeypatch.setattr(days.time, "sleep", lambda _: None)
    monkeypatch.setattr(days, "works_for", lambda pid: pid > 1)
    monkeypatch.setattr(days, "children_of", lambda _: [1, 2])
    assert days.quiet(0) == ""
    monkeypatch.setattr(days, "children_of", lambda _: [1, 2, 3])
    assert days.quiet(0) == "2 processes are left when all is quiet"
