"""The way in from a phone: only where asked for, at addresses that answer, by text and by code."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from planner.errors import InputError
from planner.web.app import application
from planner.web.routes.phone import Way, reachable, ways_in
from planner.web.server import PageRequest, allowed_hosts
from tests.unit.web.page_desk import HOST, TOKEN, client_of, desk_at

ADDRESS = "http://192.168.178.123:8317/?token=" + "x" * 32


def test_loopback_and_link_local_addresses_are_no_way_in() -> None:
    """RFC 1122 loopback, RFC 3927 and RFC 4291 link-local; a zone behind an address is dropped."""
    given = ("127.0.0.1", "127.0.1.1", "::1", "0.0.0.0", "169.254.3.4", "fe80::1%eth0", "192.168.1.7", "x")  # noqa: S104
    assert reachable((*given, "fd00::7", "192.168.1.7")) == ("192.168.1.7", "fd00::7")


def test_a_machine_on_no_network_says_so() -> None:
    """Instead of a code that leads nowhere."""
    with pytest.raises(InputError, match="no address on a network"):
        ways_in((), 5, "t")


def test_addresses_of_the_sixth_version_stand_in_brackets() -> None:
    """RFC 3986, 3.2.2."""
    assert ways_in(("fd00::7",), 5, "t")[0].address == "http://[fd00::7]:5/?token=t"


def test_the_code_fits_a_terminal_and_is_one_drawing() -> None:
    """At most 80 columns and 24 rows; a square drawing without style or script."""
    rows = Way(ADDRESS).blocks().splitlines()
    plain = [re.sub(r"\x1b\[[0-9;]*m", "", row) for row in rows]
    assert 15 < len(plain) <= 24
    assert max(map(len, plain)) <= 80
    drawing = Way(ADDRESS).drawing()
    assert drawing.startswith("<svg")
    assert "style" not in drawing
    assert "<script" not in drawing
    assert Way(ADDRESS[:-1] + "y").drawing() != drawing


def test_names_of_the_network_are_allowed_only_when_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the option the page answers this machine only, whatever its addresses are."""
    monkeypatch.setattr("planner.web.server.network_addresses", lambda: ("192.168.1.7", "fd00::7"))
    assert "192.168.1.7:5" not in allowed_hosts(PageRequest(), 5)
    assert "192.168.1.7:5" in allowed_hosts(PageRequest(phone=True), 5)
    assert "[fd00::7]:5" not in allowed_hosts(PageRequest(phone=True), 5)
    assert "[fd00::7]:5" in allowed_hosts(PageRequest(host="::", phone=True), 5)


def test_the_first_sheet_shows_the_way_in_only_when_asked_for(tmp_path: Path) -> None:
    """With the address as text and the drawing of the code."""
    desk = desk_at(tmp_path)
    assert "QR code" not in client_of(desk).get("/").text
    app = application(desk, TOKEN, [HOST], ways=(Way(ADDRESS),))
    with TestClient(app, base_url=f"http://{HOST}") as client:
        client.get("/", params={"token": TOKEN})
        shown = client.get("/").text
    assert ADDRESS in shown
    assert 'aria-label="QR code of the address"' in shown
    assert "<svg" in shown


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        (["--host", "127.0.0.2", "--phone"], "127.0.0.2"),
        (["--host", "0.0.0.0"], "127.0.0.1"),  # noqa: S104 - listened at for a moment
        (["--host", "::1"], "[::1]"),
    ],
)
def test_the_printed_address_answers(tmp_path: Path, words: list[str], asked: str) -> None:
    """The real command: what it prints can be opened, another name for it is refused."""
    command = [sys.executable, "-m", "planner", "page", "--workspace", str(tmp_path / "w"), "--no-open"]
    process = subprocess.Popen(
        [*command, "--port", "0", *words], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        if not line and asked == "[::1]":
            pytest.skip("this machine has no loopback address of the sixth version")
        if "--phone" in words:
            line = process.stdout.readline()
            assert line.startswith("On a phone: ")
        found = re.search(r"http://(\S+):(\d+)/\?token=\S+", line)
        assert found is not None
        assert found[1] == asked
        with urllib.request.build_opener(urllib.request.HTTPCookieProcessor()).open(found[0]) as answer:
            text = answer.read().decode()
        assert ("QR code" in text) == ("--phone" in words)
        other = urllib.request.Request(found[0], headers={"host": "example.org"})  # noqa: S310 - http, above
        with pytest.raises(urllib.error.HTTPError, match="421"):
            urllib.request.urlopen(other)  # noqa: S310
    finally:
        process.send_signal(signal.SIGINT)
        _, said = process.communicate(timeout=20)
    assert ("without encryption" in said) == (words != ["--host", "::1"])
