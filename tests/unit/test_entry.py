"""The command and its module are one, and both know the version that is installed."""

from __future__ import annotations

import re
import sys
from importlib.metadata import entry_points, version

import pytest

import planner
from planner import __main__, plug_ins
from planner.cli import main
from planner.version import __version__


def test_the_version_is_one() -> None:
    """Of the package, of its front door and of what is installed; as Semantic Versioning 2.0 has it."""
    assert re.fullmatch(r"(0|[1-9]\d*)\.(0|[1-9]\d*)\.(0|[1-9]\d*)", __version__)
    assert planner.__version__ == __version__
    assert version("airframe-print-planner") == __version__


def test_the_command_that_is_installed_is_the_module() -> None:
    (command,) = [one for one in entry_points(group="console_scripts") if one.name == "planner"]
    assert command.load() is __main__.run


def test_running_it_is_running_the_command(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "argv", ["planner", "--version"])
    with pytest.raises(SystemExit) as caught:
        __main__.run()
    assert caught.value.code in (0, None)
    assert capsys.readouterr().out == f"planner {__version__}\n"


def test_ctrl_c_ends_with_130_and_one_line(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also while the program is still being read in."""
    codes: list[int] = []

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(main, "main", interrupted)
    monkeypatch.setattr("os._exit", codes.append)
    __main__.run()
    assert codes == [130]
    assert capsys.readouterr().err == "Stopped; nothing was written.\n"


def test_what_cannot_be_added_is_told_and_the_rest_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """No group of ours is taken for that of another package."""
    groups = {getattr(plug_ins, name) for name in dir(plug_ins) if name.isupper()}
    groups = {one for one in groups if isinstance(one, str)}
    assert len(groups) >= 4
    assert all(one.startswith("airframe_print_planner.") for one in groups)
