"""The secret reaches the browser once, unseen by other users; what is given up is cleared away."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from planner.web.app import application
from planner.web.guard import cookie_value
from planner.web.handover import Handover
from planner.web.routes.drop import ABANDONED_S, DropLimits, Drops
from planner.web.server import PageRequest, allowed_hosts, shown_name
from planner.web.workspace import Workspace
from tests.builders import box, stl_bytes
from tests.unit.web.page_desk import HOST, TOKEN, airframe_in, client_of, desk_at, zipped

POSIX = pytest.mark.skipif(sys.platform == "win32", reason="modes of files are POSIX's")


def secret_of(handed: Handover) -> str:
    found = re.search(r"token=([\w-]+)", handed.file.read_text(encoding="utf-8"))
    assert found is not None
    return found.group(1)


def test_the_file_opens_the_page_once(tmp_path: Path) -> None:
    """From a file, as a browser does it: the cookie comes with a sheet that leads on; then no more."""
    desk = desk_at(tmp_path)
    handed = Handover(desk.workspace.root, f"http://{HOST}/")
    secret = secret_of(handed)
    app = application(desk, TOKEN, [HOST], "planner-test", once=handed.take)
    from_file = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate"}
    first, second = (TestClient(app, base_url=f"http://{HOST}") for _ in range(2))
    answer = first.get(f"/?token={secret}", headers=from_file)
    assert answer.status_code == 200
    assert 'content="0;url=/"' in answer.text
    assert first.get("/").status_code == 200
    assert not handed.file.exists()
    assert second.get(f"/?token={secret}", headers=from_file).status_code == 403
    assert secret != TOKEN


@POSIX
def test_file_and_workspace_are_private(tmp_path: Path) -> None:
    """600 and 700, also where the workspace was open before."""
    root = tmp_path / "open"
    root.mkdir(mode=0o755)
    Workspace(root).prepare()
    assert root.stat().st_mode & 0o777 == 0o700
    assert Handover(root, "http://x/").file.stat().st_mode & 0o777 == 0o600


def test_the_cookie_of_one_port_does_not_open_another(tmp_path: Path) -> None:
    """The same secret under another port's name is another value."""
    client = client_of(desk_at(tmp_path), signed_in=False)
    client.cookies.set("planner-test", cookie_value(TOKEN, "planner-8318"))
    assert client.get("/").status_code == 403
    client.cookies.set("planner-test", cookie_value(TOKEN, "planner-test"))
    assert client.get("/").status_code == 200


def test_what_is_given_up_for_an_hour_is_cleared(tmp_path: Path) -> None:
    """Not a second sooner; what is in use stays."""
    now = [0.0]
    workspace = Workspace(tmp_path)
    workspace.prepare()
    drops = Drops(workspace, clock=lambda: now[0])
    drops.begin()
    now[0] = ABANDONED_S - 1.0
    kept = drops.begin()
    drops.clear_abandoned()
    assert len(list((tmp_path / ".dropped").iterdir())) == 2
    now[0] = ABANDONED_S
    drops.clear_abandoned()
    assert [path.name for path in (tmp_path / ".dropped").iterdir()] == [kept]


def test_limits_hold_over_all_archives_of_a_drop(tmp_path: Path) -> None:
    """Number of files over two archives; ratio over all entries, each of which is small."""
    client = client_of(desk_at(tmp_path, DropLimits(files=3, archive_floor_bytes=1_000_000)))
    key = client.post("/drop", json={}).json()["key"]
    two = zipped({f"{k}.stl": stl_bytes(box(3.0, 2.0, 1.0)) for k in range(2)})
    more = zipped({f"more {k}.stl": stl_bytes(box(3.0, 2.0, 1.0)) for k in range(2)})
    swollen = zipped({f"s {k}.stl": bytes(900_000) for k in range(3)})
    told = [client.put(f"/drop/{key}", params={"path": "a.zip"}, content=b) for b in (swollen, two, more)]
    assert [answer.status_code for answer in told] == [422, 200, 422]
    assert "times its size" in told[0].json()["message"]


@pytest.mark.parametrize("number", ["1e999", "-1e999", "NaN", "Infinity"])
def test_a_number_without_end_gets_a_sentence(tmp_path: Path, number: str) -> None:
    """In a field and in a command."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    client = client_of(desk)
    field = f'{{"do":"part","given":{{"part":"hull","key":"copies","value":{number}}}}}'
    for path, body in (("edit", field), ("study", f'{{"mass":{number}}}'), ("run", f'{{"seed":{number}}}')):
        answer = client.post(f"/a/glider/{path}", content=body, headers={"content-type": "application/json"})
        assert answer.status_code == 422
        assert "no number that can be used" in answer.json()["message"]


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "::1", "0.0.0.0", "::"])  # noqa: S104
def test_the_address_that_is_shown_is_answered(host: str) -> None:
    """Its name is one that the guard takes, of the family that is listened at."""
    shown = shown_name(host)
    assert f"{shown}:5" in allowed_hosts(PageRequest(host=host), 5)
    assert (":" in shown) == (":" in host)
