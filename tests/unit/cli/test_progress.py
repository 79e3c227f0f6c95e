"""Progress is for people only, and an interrupt ends the work at its next step, watched or not."""

from __future__ import annotations

import io
import sys

import pytest

from planner.cli import interrupt, progress
from planner.model.early import EARLY


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    """In the place of the stream of errors; not a fixture, as pytest takes that stream before each test."""
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.setenv("COLUMNS", "80")
    return stream


def test_a_file_gets_no_progress(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr(progress, "_AFTER_S", -1.0)
    with progress.shown() as report:
        report("estimate", 1, 2)
    assert stream.getvalue() == ""


def test_a_quick_step_shows_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only what takes a while is shown."""
    stream = terminal(monkeypatch)
    with progress.shown() as report:
        report("estimate", 1, 2)
    assert report is not interrupt.step  # somebody watches
    assert "estimate" not in stream.getvalue()


def test_a_slow_step_names_its_stage(monkeypatch: pytest.MonkeyPatch) -> None:
    """As it is written: brackets of a name are no markup, and long words are cut."""
    stream = terminal(monkeypatch)
    monkeypatch.setattr(progress, "_AFTER_S", -1.0)
    with progress.shown() as report:
        report("read [red]mesh[/red]", 1, 2)
        report("x" * 60, 2, 2)
    told = stream.getvalue()
    assert "read [red]mesh[/red]" in told
    assert "x" * 49 not in told


@pytest.mark.parametrize("watched", [False, True])
def test_an_interrupt_that_was_dropped_ends_the_work(watched: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """At the next step; without one the work goes on."""
    monkeypatch.setattr(sys, "stderr", Terminal() if watched else io.StringIO())
    monkeypatch.setattr(interrupt, "_asked", [])
    with progress.shown() as report:
        report("search", 0, 10)
        interrupt._asked.append(True)
        with pytest.raises(KeyboardInterrupt):
            report("search", 1, 10)


def test_the_first_answer_stays_on_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """On a line of its own, in 80 columns; from then on there is something to keep."""
    stream = terminal(monkeypatch)
    monkeypatch.setattr(interrupt, "_found", [])
    words = "done Thu 2026-12-03 00:59, weighs 1 373 g, costs 37.10 EUR printed"
    with progress.shown() as report:
        report(EARLY + words, 0, 1)
        report("mass and cost", 0, 1)
    assert stream.getvalue() == f"first plan  {words}\n"
    assert interrupt._found
