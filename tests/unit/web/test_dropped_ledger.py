"""A ledger that comes with a folder: taken when it is one, never in the place of another one."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from planner.ledger.fact import DONE, Fact
from planner.ledger.handed import look_through
from planner.ledger.store import Ledger
from planner.web.desk import Desk
from planner.web.ledger import place_for
from planner.web.words import say
from tests.builders import box, stl_bytes
from tests.unit.web.page_desk import airframe_in, client_of, desk_at, zipped

NOON = datetime(2026, 12, 1, 12, tzinfo=UTC)
MESH = stl_bytes(box(20.0, 10.0, 5.0))


@pytest.fixture(name="body")
def _body(tmp_path: Path) -> bytes:
    """The bytes of a ledger of two facts."""
    path = tmp_path / "elsewhere" / "ledger.sqlite"
    with Ledger(path, writing=True) as ledger:
        ledger.write([Fact(DONE, f"bed {n}", NOON, f"u{n}") for n in (1, 2)])
    return path.read_bytes()


@pytest.fixture(name="desk")
def _desk(tmp_path: Path) -> Desk:
    return desk_at(tmp_path)


def begun(client: TestClient) -> str:
    """The key of a new drop."""
    return str(client.post("/drop", json={}).json()["key"])


def put(client: TestClient, key: str, path: str, body: bytes) -> int:
    """Send a file."""
    return client.put(f"/drop/{key}", params={"path": path}, content=body).status_code


def test_a_folder_brings_its_ledger(desk: Desk, body: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """File by file, or in an archive; it is the one that facts go to."""
    client = client_of(desk)
    monkeypatch.setattr(type(desk.looks), "start", lambda self, folder, **how: None)
    for how in ("files", "archive"):
        key = begun(client)
        files = {"kite/hull.stl": MESH, "kite/ledger.sqlite": body}
        sent = files if how == "files" else {"kite.zip": zipped(files)}
        assert [put(client, key, path, one) for path, one in sent.items()] == [200] * len(sent)
        made = client.post(f"/drop/{key}/done", json={"name": "kite"}).json()["airframe"]
        folder = desk.workspace.folder(made)
        assert place_for(folder).file == folder / "ledger.sqlite"
        assert look_through(folder / "ledger.sqlite") == 2
        assert sorted(path.name for path in folder.iterdir()) == ["hull.stl", "ledger.sqlite"]


@pytest.mark.parametrize("how", ["junk", "half"])
def test_what_is_no_ledger_is_refused_and_the_rest_is_taken(desk: Desk, body: bytes, how: str) -> None:
    """In words that name no folder of ours; an archive that holds one is refused whole."""
    client, wrong = client_of(desk), b"[[spool]]" * 999 if how == "junk" else body[: len(body) // 2]
    key = begun(client)
    assert put(client, key, "kite/hull.stl", MESH) == 200
    answer = client.put(f"/drop/{key}", params={"path": "kite/ledger.sqlite"}, content=wrong)
    assert answer.status_code == 422
    assert answer.json()["message"].startswith("ledger.sqlite: the ledger")
    assert str(desk.workspace.root) not in answer.text
    archive = zipped({"hull.stl": MESH, "ledger.sqlite": wrong})
    assert client.put(f"/drop/{key}", params={"path": "a.zip"}, content=archive).status_code == 422
    drop = desk.drops.get(key)
    assert list(drop.taken) == ["kite/hull.stl"]
    assert [path.name for path in drop.folder.rglob("*") if path.is_file()] == ["hull.stl"]


def test_facts_are_never_replaced(desk: Desk, body: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files that are added bring a ledger only where there is none; that it was left out is told."""
    monkeypatch.setattr(type(desk.looks), "start", lambda self, folder, **how: None)
    client, folder = client_of(desk), airframe_in(desk)
    for expected in ([], [say("ledger_stays")]):
        key = begun(client)
        put(client, key, "ledger.sqlite", body)
        put(client, key, "fin.stl", MESH)
        told = client.post(f"/drop/{key}/done", json={"into": "glider"}).json()
        assert told.get("left_out", []) == expected
        with Ledger(folder / "ledger.sqlite", writing=True) as ledger:
            ledger.write([Fact(DONE, "bed 3", NOON, "u3")])
    assert look_through(folder / "ledger.sqlite") == 3
    key = begun(client)
    put(client, key, "ledger.sqlite", body)
    assert client.post(f"/drop/{key}/done", json={"into": "glider"}).status_code == 200


def test_a_ledger_alone_is_no_airframe(desk: Desk, body: bytes) -> None:
    """A new airframe needs a mesh."""
    client = client_of(desk)
    key = begun(client)
    put(client, key, "ledger.sqlite", body)
    answer = client.post(f"/drop/{key}/done", json={"name": "kite"})
    assert (answer.status_code, "no mesh" in answer.text) == (422, True)
