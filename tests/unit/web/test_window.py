"""A window of its own, with the package that opens it and without."""

from __future__ import annotations

import sys
import types
import urllib.request
from pathlib import Path

import pytest

from planner.errors import MissingExtra
from planner.web.lock import WorkspaceLock
from planner.web.server import PageRequest, serve


def test_the_window_shows_the_page_and_ends_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """While the window is open the page answers at the address it was given; closed, both are gone."""
    told: dict[str, object] = {}

    def create_window(title: str, address: str, **size: int) -> None:
        told.update(title=title, address=address, size=size)

    def start() -> None:
        browser = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with browser.open(str(told["address"]), timeout=20) as answer:
            told["status"], told["text"] = answer.status, answer.read().decode("utf-8")

    fake = types.SimpleNamespace(create_window=create_window, start=start)
    monkeypatch.setitem(sys.modules, "webview", fake)  # type: ignore[arg-type]
    serve(PageRequest(workspace=tmp_path / "w", port=0, window=True, open_browser=False))
    assert told["title"] == "planner"
    assert told["status"] == 200
    assert "Drop a folder of part meshes here" in str(told["text"])
    again = WorkspaceLock(tmp_path / "w")
    again.take("http://127.0.0.1:1/")  # nobody holds the workspace any more
    again.leave()


def test_without_its_package_the_window_is_refused_before_anything_opens(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a sentence that says what to install; no address is shown, no workspace made."""
    monkeypatch.setitem(sys.modules, "webview", None)  # type: ignore[arg-type]
    with pytest.raises(MissingExtra, match="needs the package pywebview") as refused:
        serve(PageRequest(workspace=tmp_path / "w", port=0, window=True))
    assert "leave --window out" in refused.value.next_step
    assert capsys.readouterr().out == ""
    assert not (tmp_path / "w").exists()
