"""A page in a process of its own, and a headless Chromium in front of it."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--enable-unsafe-swiftshader",
]
DEMO = Path(__file__).parents[2] / "demo_meshes"
AXE = Path(__file__).parent / "axe" / "axe.min.js"
COMMAND = [sys.executable, "-m", "planner", "page", "--no-open", "--port", "0"]
PATIENCE_MS = 60_000  # the processors may be shared


@dataclass
class Running:
    """The page that is served."""

    address: str
    workspace: Path

    @property
    def base(self) -> str:
        """Address without the token."""
        return self.address.split("?")[0].rstrip("/")


@dataclass
class Tab:
    """A tab and what went wrong in it."""

    page: Any
    wrong: list[str] = field(default_factory=list)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Headless Chromium; the tests skip where it or its driver is missing."""
    driver = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    program = next((path for name in NAMES if (path := shutil.which(name))), None)
    if program is None:
        pytest.skip("no Chromium is on the path (Debian: apt install chromium)")
    with driver.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=program, args=ARGUMENTS)
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A page over a fresh workspace."""
    root = tmp_path_factory.mktemp("page")
    process = subprocess.Popen(
        [*COMMAND, "--workspace", str(root / "w"), "--cache", str(root / "cache")],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    told = re.search(r"http://\S+", process.stdout.readline())
    assert told is not None
    yield Running(told.group(0), root / "w")
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=30)


@pytest.fixture
def open_tab(browser: Any, served: Running) -> Iterator[Any]:
    """Opens tabs of one browser session; afterwards nothing may have gone wrong in any of them."""
    made: list[Tab] = []
    context = browser.new_context(viewport={"width": 1280, "height": 900}, accept_downloads=True)
    context.set_default_timeout(PATIENCE_MS)

    def open_one(path: str = "/", width: int = 1280) -> Any:
        tab = Tab(context.new_page())
        tab.page.set_viewport_size({"width": width, "height": 900})
        tab.page.on("console", lambda told: tab.wrong.append(told.text) if told.type == "error" else None)
        tab.page.on("pageerror", lambda error: tab.wrong.append(str(error)))
        made.append(tab)
        tab.page.goto(served.address)
        if path != "/":
            tab.page.goto(served.base + path)
        return tab.page

    forgiven = open_one.forgiven = ["status of 422"]  # type: ignore[attr-defined]
    yield open_one
    told = [line for tab in made for line in tab.wrong]
    context.close()
    # A refused edit answers 422, which the browser itself notes, as it does what a test breaks on purpose.
    assert [line for line in told if not any(words in line for words in forgiven)] == []


def until(page: Any, expression: str) -> None:
    """Wait until an expression of the page is true; asked from outside, which its policy allows."""
    end = time.monotonic() + PATIENCE_MS / 1000
    while not page.evaluate(expression):
        assert time.monotonic() < end, expression
        page.wait_for_timeout(50)


def drop(page: Any, paths: list[Path]) -> None:
    """Drop files or folders from outside the browser onto the middle of the sheet."""
    page.wait_for_selector("body[data-ready]")
    session = page.context.new_cdp_session(page)
    data = {"items": [], "files": [str(path) for path in paths], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        session.send("Input.dispatchDragEvent", {"type": kind, "x": 600, "y": 200, "data": data})


def planned(page: Any, effort: str = "quick") -> None:
    """Go to the plan of the airframe that is open, plan, and wait for the answers."""
    page.click("nav >> text=Plan")
    page.select_option("#effort", effort)
    page.fill("#start", "2026-12-01T18:00")
    page.click("#make-plan")
    page.wait_for_selector(".answer")
    page.wait_for_selector("#running", state="hidden")
