"""A plan that the page ends while it writes leaves nothing in the airframe's folder."""

from __future__ import annotations

import multiprocessing
import time
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import pytest

from planner.io.results.output import results, write_output
from planner.web.jobs.runs import Runs
from planner.web.workspace import RESULTS


def writing(pipe: Connection, stop: Any, folder: str, *given: Any) -> None:
    """In the place of a plan: writes without an end."""
    with results(Path(folder) / RESULTS) as made:
        made.write("plan.json", b"half")
        pipe.send(("progress", ("report", 0, 1)))
        time.sleep(60.0)


@pytest.mark.parametrize("end", ["leave", "close"])
def test_nothing_is_left_of_a_plan_that_is_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, end: str
) -> None:
    """The earlier plan stays as it was; whether one plan is left or the page ends."""
    context = multiprocessing.get_context("fork")
    monkeypatch.setattr("planner.web.jobs.runs.multiprocessing.get_context", lambda kind: context)
    monkeypatch.setattr("planner.web.jobs.runs.plan", writing)
    write_output(tmp_path / RESULTS, {"plan.json": b"whole"})
    runs = Runs(None)
    runs.start("glider", tmp_path, {"effort": "quick"}, "1")
    until(lambda: runs.told("glider")["stage"] == "report")
    assert len(list(tmp_path.iterdir())) == 3
    if end == "leave":
        runs.leave("glider")
    else:
        runs.close()
        assert list(tmp_path.iterdir()) == [tmp_path / RESULTS]  # at once: the page's process ends
    until(lambda: list(tmp_path.iterdir()) == [tmp_path / RESULTS])
    assert (tmp_path / RESULTS / "plan.json").read_bytes() == b"whole"


def until(true: Any) -> None:
    """Wait for something, not for long."""
    end = time.monotonic() + 20.0
    while not true():
        assert time.monotonic() < end
        time.sleep(0.02)
