"""A browser that goes away and a disk that is full: no failure of the page, nothing half-written."""

from __future__ import annotations

import asyncio
import errno
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from planner.web import workspace
from planner.web.app import application
from planner.web.guard import cookie_value
from planner.web.routes import drop as receiving
from planner.web.routes.failures import no_room
from planner.web.words import say
from tests.unit.web.page_desk import HOST, TOKEN, airframe_in, client_of, desk_at, zipped


def full(*_: Any, **__: Any) -> None:
    """As the system tells it."""
    raise OSError(errno.ENOSPC, "No space left on device")


@pytest.mark.parametrize("path", ["/drop/{key}", "/a/glider/edit"])
def test_a_browser_that_goes_away_is_no_failure(tmp_path: Path, path: str) -> None:
    """In mid-upload and in mid-request: no traceback, and nothing of the file stays."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    key = desk.drops.begin()
    app = application(desk, TOKEN, [HOST], "planner-test")
    headers = {"host": HOST, "origin": f"http://{HOST}", "content-type": "application/json"}
    headers["cookie"] = f"planner-test={cookie_value(TOKEN, 'planner-test')}"
    scope = {
        "type": "http", "method": "PUT" if "drop" in path else "POST", "path": path.format(key=key),
        "query_string": b"path=kit/rib.stl", "app": app, "scheme": "http", "server": ("127.0.0.1", 8317),
        "headers": [(name.encode(), value.encode()) for name, value in headers.items()],
    }  # fmt: skip
    heard = iter([{"type": "http.request", "body": b"solid", "more_body": True}, {"type": "http.disconnect"}])
    told: list[Any] = []

    async def receive() -> Any:
        return next(heard)

    async def send(message: Any) -> None:
        told.append(message)

    asyncio.run(app(scope, receive, send))
    assert told[0]["status"] == 400
    assert [p for p in (desk.drops.get(key).folder).rglob("*") if p.is_file()] == []
    assert desk.drops.get(key).taken == {}


@pytest.mark.parametrize("number", workspace.FULL)
def test_a_full_disk_is_told_and_the_record_stays(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, number: int
) -> None:
    """An edit that cannot be written is refused in words; the file is as it was, nothing lies beside it."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    client = client_of(desk)
    before = (folder / "airframe.toml").read_bytes()
    edit = {"do": "head", "given": {"key": "target_mass_g", "value": 300}}

    def refuses(*_: Any) -> None:
        raise OSError(number, "no room")

    with monkeypatch.context() as at_the_limit:
        at_the_limit.setattr(workspace.os, "fsync", refuses)
        answer = client.post("/a/glider/edit", json=edit)
    assert (answer.status_code, answer.json()["message"]) == (422, say("disk_full"))
    assert (folder / "airframe.toml").read_bytes() == before
    assert [path.name for path in folder.iterdir() if path.name.startswith(".airframe")] == []
    assert client.post("/a/glider/edit", json=edit).status_code == 200


@pytest.mark.parametrize("path", ["rib.stl", "kit.zip"])
def test_a_drop_that_fills_the_disk_is_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, path: str
) -> None:
    """The file goes, the drop stays open for another try; an archive is not called damaged."""
    body = zipped({"rib.stl": b"solid"}) if path == "kit.zip" else b"solid"
    desk = desk_at(tmp_path)
    client = client_of(desk)
    key = client.post("/drop", json={}).json()["key"]
    with monkeypatch.context() as at_the_limit:
        at_the_limit.setattr(receiving, "_look_through", full)
        answer = client.put(f"/drop/{key}", params={"path": path}, content=body)
    assert (answer.status_code, answer.json()["message"]) == (422, say("disk_full"))
    assert not [one for one in desk.drops.get(key).folder.rglob("*") if one.is_file()]
    assert client.put(f"/drop/{key}", params={"path": path}, content=body).status_code == 200


def test_a_full_disk_is_told_in_words_and_nothing_else_is() -> None:
    """Whatever the limit was."""
    asked: Any = None
    for number in workspace.FULL:
        assert asyncio.run(no_room(asked, OSError(number, "no room"))).status_code == 422
    with pytest.raises(PermissionError):
        asyncio.run(no_room(asked, PermissionError(errno.EACCES, "not yours")))


def test_records_take_their_places_together_or_not_at_all(tmp_path: Path) -> None:
    """The second has no room: the first one of before stays, and nothing lies beside it."""
    workspace.write_record(tmp_path, "a.json", {"of": "before"})

    def keep(second: Any) -> None:
        with workspace.records_ready(tmp_path) as give:
            give("a.json", {"of": "now"})
            second()

    with pytest.raises(OSError, match="No space"):
        keep(full)
    assert [path.name for path in (tmp_path / workspace.OWN).iterdir()] == ["a.json"]
    assert workspace.read_record(tmp_path, "a.json") == {"of": "before"}
    with workspace.records_ready(tmp_path) as give:
        give("a.json", {"of": "now"})
        give("b.json", {})
        assert workspace.read_record(tmp_path, "a.json") == {"of": "before"}
    assert workspace.read_record(tmp_path, "a.json") == {"of": "now"}
    assert sorted(path.name for path in (tmp_path / workspace.OWN).iterdir()) == ["a.json", "b.json"]


def test_other_failures_of_the_system_stay_failures(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """They are told as a bug, not as a disk that is full."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    client: TestClient = client_of(desk)

    def broken(*_: Any) -> None:
        raise OSError(errno.EIO, "broken disk")

    monkeypatch.setattr(workspace.os, "fsync", broken)
    edit = {"do": "head", "given": {"key": "target_mass_g", "value": 300}}
    assert client.post("/a/glider/edit", json=edit).status_code == 500
