"""Starting the page: one for a workspace, quick, small, on this computer only."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from planner.errors import InputError
from planner.web.lock import WorkspaceLock
from planner.web.server import PageRequest, allowed_hosts
from planner.web.words import say, words

SLOW_MACHINE = 4.0  # others may keep the processors busy


@pytest.fixture
def page(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], str, float]]:
    """A page in a process of its own: process, address, seconds until it answered."""
    began = time.monotonic()
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "planner",
            "page",
            "--workspace",
            str(tmp_path / "w"),
            "--no-open",
            "--port",
            "0",
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert process.stdout is not None
    told = re.search(r"http://\S+", process.stdout.readline())
    assert told is not None
    with urllib.request.build_opener(urllib.request.HTTPCookieProcessor()).open(told.group(0)) as answer:
        assert answer.status == 200
    yield process, told.group(0), time.monotonic() - began
    process.send_signal(signal.SIGINT)
    process.communicate(timeout=20)


def test_the_page_answers_soon_and_is_small(page: tuple[subprocess.Popen[str], str, float]) -> None:
    """Under 3 s (four times that on a busy machine) and, idle, under 300 MB with all its processes."""
    process, _, seconds = page
    assert seconds < 3.0 * SLOW_MACHINE
    status = Path(f"/proc/{process.pid}/status")
    if status.is_file():
        resident = re.search(r"VmRSS:\s+(\d+) kB", status.read_text(encoding="utf-8"))
        assert resident is not None
        assert int(resident.group(1)) < 300_000


def test_a_second_page_for_the_workspace_is_refused_politely(
    page: tuple[subprocess.Popen[str], str, float], tmp_path: Path
) -> None:
    """It says which process has it and at which address, and ends with the code of bad input."""
    process, address, _ = page
    second = subprocess.run(
        [
            sys.executable,
            "-m",
            "planner",
            "page",
            "--workspace",
            str(tmp_path / "w"),
            "--no-open",
            "--port",
            "0",
        ],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert second.returncode == 2
    assert str(process.pid) in second.stderr
    assert address.split("?")[0] in second.stderr
    assert "Traceback" not in second.stderr


def test_without_the_token_the_running_page_shows_nothing(
    page: tuple[subprocess.Popen[str], str, float],
) -> None:
    """The check stands in the real server, too."""
    with pytest.raises(urllib.error.HTTPError, match="403"):
        urllib.request.urlopen(page[1].split("?")[0])  # noqa: S310 - our own address


def test_a_lock_ends_with_its_holder(tmp_path: Path) -> None:
    """Left or never held, the workspace is free again; a stale note does not matter."""
    first, second = WorkspaceLock(tmp_path), WorkspaceLock(tmp_path)
    first.take("http://a/")
    with pytest.raises(InputError, match="another page"):
        second.take("http://b/")
    first.leave()
    (tmp_path / ".page.json").write_text('{"process": 1, "address": "http://gone/"}', encoding="utf-8")
    second.take("http://b/")
    second.leave()


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs a process that can be killed without a word")
def test_a_killed_page_leaves_the_workspace_free(tmp_path: Path) -> None:
    """The operating system drops the lock of a process that is gone."""
    script = (
        "import sys, time, pathlib\n"
        "from planner.web.lock import WorkspaceLock\n"
        "lock = WorkspaceLock(pathlib.Path(sys.argv[1]))\n"
        "lock.take('http://x/')\n"
        "print('held', flush=True)\n"
        "time.sleep(60)\n"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", script, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert holder.stdout is not None
    assert holder.stdout.readline() == "held\n"
    lock = WorkspaceLock(tmp_path)
    with pytest.raises(InputError):
        lock.take("http://y/")
    holder.kill()
    holder.communicate(timeout=10)
    lock.take("http://y/")
    lock.leave()


def test_only_names_of_this_computer_are_answered_by_default() -> None:
    """Loopback, under its three names."""
    assert PageRequest().host == "127.0.0.1"
    assert set(allowed_hosts(PageRequest(host="localhost"), 5)) == {"127.0.0.1:5", "localhost:5", "[::1]:5"}


def test_without_its_packages_the_command_says_how_to_get_them(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """The extra is named."""
    from planner.errors import MissingExtra
    from planner.web.server import serve

    monkeypatch.setitem(sys.modules, "uvicorn", None)
    with pytest.raises(MissingExtra, match="not installed") as caught:
        serve(PageRequest(tmp_path))
    assert "airframe-print-planner[page]" in str(caught.value)


def test_every_text_that_is_asked_for_is_there() -> None:
    """Templates and scripts name no text that the file of texts lacks."""
    web = Path(__file__).parents[3] / "planner" / "web"
    asked: set[str] = set()
    for template in (web / "templates").glob("*.html"):
        asked |= set(re.findall(r'\bt\("([a-z0-9_]+)"(?!\s*~)', template.read_text(encoding="utf-8")))
    for script in (web / "static").glob("*.js"):
        asked |= {
            f"js_{key}" for key in re.findall(r'\btext\("([a-z0-9_]+)"', script.read_text(encoding="utf-8"))
        }
    for module in web.glob("*.py"):
        asked |= set(re.findall(r'\bsay\("([a-z0-9_]+)"', module.read_text(encoding="utf-8")))
    assert asked - set(words()) == set()
    assert say("of", n=1, m=2) == "1 of 2"
