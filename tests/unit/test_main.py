"""The first word on a terminal."""

from __future__ import annotations

import io
import sys

import pytest

from planner import __main__ as front


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["plan", "demo_meshes"], "planning demo_meshes ...\n"),
        (["plan", "a\x1b[2Jb\n", "--effort", "quick"], "planning a?[2Jb? ...\n"),
        (["plan", "x" * 200], f"planning {'x' * 66} ...\n"),
        (["plan"], ""),
        (["plan", "--help"], ""),
        (["check", "demo_meshes"], ""),
        ([], ""),
    ],
)
def test_who_asks_for_a_plan_is_answered_at_once(
    monkeypatch: pytest.MonkeyPatch, words: list[str], said: str
) -> None:
    """In one line of 80 columns, whatever the folder is called; nothing where it would be in the way."""
    stream = Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    front._say_at_once(words)
    assert stream.getvalue() == said


def test_a_file_is_told_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor a stream that is not there."""
    stream = io.StringIO()
    monkeypatch.setattr(sys, "stderr", stream)
    front._say_at_once(["plan", "demo_meshes"])
    assert stream.getvalue() == ""
    monkeypatch.setattr(sys, "stderr", None)
    front._say_at_once(["plan", "demo_meshes"])
