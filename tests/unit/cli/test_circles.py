"""The command looks for circles of values seldom; the package leaves that to whoever imports it."""

from __future__ import annotations

import gc
import subprocess
import sys

import pytest

from planner.cli import main
from planner.cli.circles import VALUES, looking_seldom


def test_seldom_but_not_never_and_as_before_afterwards() -> None:
    before = gc.get_threshold()
    with looking_seldom():
        assert gc.isenabled()
        assert gc.get_threshold()[0] == VALUES > 10 * before[0]
    assert gc.get_threshold() == before


@pytest.mark.parametrize("words", ["plan", "page", "readback"])
def test_a_command_leaves_it_as_it_was(monkeypatch: pytest.MonkeyPatch, words: str) -> None:
    """Also for whoever runs several in one process; only what makes one plan and ends looks seldom."""
    before, seen = gc.get_threshold(), []
    monkeypatch.setattr(sys, "argv", ["planner", words])
    monkeypatch.setattr(main, "app", lambda: seen.append(gc.get_threshold()[0]))
    monkeypatch.setattr(main, "_refuse_nowhere", lambda: None)
    monkeypatch.setattr(main, "listen", lambda: None)
    main.main()
    assert seen == [VALUES if words == "plan" else before[0]]
    assert gc.get_threshold() == before


def test_at_the_end_nothing_is_looked_through() -> None:
    """What was registered before is called after it: by then all values are set aside, and not before."""
    words = (
        "import atexit, gc; from planner.cli.circles import looking_seldom\n"
        "atexit.register(lambda: print(gc.get_freeze_count() > 1000))\n"
        "with looking_seldom(): pass\n"
        "print(gc.get_freeze_count() > 1000)"
    )
    said = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True).stdout
    assert said.split() == ["False", "True"]


def test_importing_the_package_changes_nothing() -> None:
    words = "import gc; a = gc.get_threshold(); import planner; planner.plan; assert gc.get_threshold() == a"
    subprocess.run([sys.executable, "-c", words], check=True)
