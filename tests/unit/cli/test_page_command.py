"""What ``planner page`` hands to the server."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from planner.api import default_cache
from planner.cli import page as command
from planner.cli.main import app
from planner.errors import InputError
from planner.web import server
from planner.web.server import PageRequest


@pytest.fixture(name="asked")
def _asked(monkeypatch: pytest.MonkeyPatch) -> list[PageRequest]:
    seen: list[PageRequest] = []
    monkeypatch.setattr(server, "serve", seen.append)
    return seen


def test_nothing_asked_is_this_computer_only_and_a_browser(asked: list[PageRequest]) -> None:
    assert CliRunner().invoke(app, ["page"]).exit_code == 0
    assert asked == [
        PageRequest(
            workspace=None,
            host="127.0.0.1",
            port=None,
            window=False,
            open_browser=True,
            phone=False,
            cache=str(default_cache()),
        )
    ]


def test_every_option_counts(asked: list[PageRequest], tmp_path: Path) -> None:
    words = ["page", "--workspace", str(tmp_path), "--host", "localhost", "--port", "0", "--window",
             "--no-open", "--phone", "--cache", str(tmp_path / "kept")]  # fmt: skip
    done = CliRunner().invoke(app, words)
    assert done.exit_code == 0, done.output
    (one,) = asked
    assert (one.workspace, one.host, one.port) == (tmp_path, "localhost", 0)
    assert (one.window, one.open_browser, one.phone) == (True, False, True)
    assert one.cache == str(tmp_path / "kept")


@pytest.mark.parametrize("port", ["-1", "65536", "web"])
def test_a_port_that_is_none_is_refused(port: str, asked: list[PageRequest]) -> None:
    assert CliRunner().invoke(app, ["page", "--port", port]).exit_code == 2
    assert asked == []


def test_what_the_server_refuses_is_one_message(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2 and no traceback."""

    def refuse(_: PageRequest) -> None:
        raise InputError("the port is taken.", where="--port", next_step="Choose another.")

    monkeypatch.setattr(server, "serve", refuse)
    with pytest.raises(SystemExit) as caught:
        command.page()
    assert caught.value.code == 2
    assert capsys.readouterr().err == "--port: the port is taken. Choose another.\n"
