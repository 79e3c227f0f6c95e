"""Files that a browser sends: received whole, or refused whole."""

from __future__ import annotations

import asyncio
import struct
import threading
from collections.abc import AsyncIterator, Callable, Coroutine
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from planner.web.routes import drop
from planner.web.routes.drop import DropLimits
from planner.web.workspace import NotHere
from tests.builders import box, stl_bytes
from tests.unit.web.page_desk import airframe_in, client_of, desk_at, zipped

MESH = stl_bytes(box(20.0, 10.0, 5.0))


def send(
    client: TestClient, files: dict[str, bytes], name: str = "kit"
) -> tuple[int, dict[str, object], list[int]]:
    """Drop files and finish; status and answer of the end, status of each file."""
    key = client.post("/drop", json={}).json()["key"]
    told = [
        client.put(f"/drop/{key}", params={"path": path}, content=body).status_code
        for path, body in files.items()
    ]
    end = client.post(f"/drop/{key}/done", json={"name": name})
    return end.status_code, end.json(), told


def held(root: Path) -> set[str]:
    """Every file beneath a folder."""
    return {path.relative_to(root).as_posix() for path in root.rglob("*") if path.is_file()}


def test_a_dropped_folder_becomes_an_airframe_folder_of_its_name(tmp_path: Path) -> None:
    """Meshes and records arrive byte by byte; what nobody needs is passed over."""
    desk = desk_at(tmp_path)
    files = {
        "kit/rib.stl": MESH,
        "kit/airframe.toml": b"[airframe]\n",
        "kit/readme.txt": b"hello",
        "kit/sub/a b.obj": b"v 0 0 0",
    }
    status, told, each = send(client_of(desk), files)
    folder = desk.workspace.root / "kit"
    assert (status, told["airframe"], each) == (200, "kit", [200] * 4)
    assert (folder / "rib.stl").read_bytes() == MESH
    assert {"rib.stl", "airframe.toml", "sub/a b.obj"} <= held(folder)
    assert not (folder / "readme.txt").exists()


def test_equal_names_do_not_overwrite_each_other(tmp_path: Path) -> None:
    """The second drop of a folder is a second airframe."""
    client = client_of(desk_at(tmp_path))
    assert [send(client, {"kit/rib.stl": MESH})[1]["airframe"] for _ in range(2)] == ["kit", "kit 2"]


@pytest.mark.parametrize(
    "path", ["../evil.stl", "/etc/evil.stl", "a/../../../evil.stl", "..\\evil.stl", "C:\\evil.stl"]
)
def test_a_path_that_climbs_out_is_refused_and_nothing_is_written(tmp_path: Path, path: str) -> None:
    """Path traversal by the name of a file."""
    desk = desk_at(tmp_path)
    before = held(tmp_path)
    client = client_of(desk)
    key = client.post("/drop", json={}).json()["key"]
    answer = client.put(f"/drop/{key}", params={"path": path}, content=MESH)
    assert answer.status_code == 422
    assert "leads out" in answer.json()["message"]
    assert held(tmp_path) == before


def test_a_path_that_climbs_out_of_an_archive_is_refused(tmp_path: Path) -> None:
    """Path traversal by the name of an entry (Source: CWE-22, archive extraction)."""
    desk = desk_at(tmp_path)
    archive = zipped({"rib.stl": MESH, "../../evil.stl": MESH})
    status, _, each = send(client_of(desk), {"kit.zip": archive})
    assert (each, status) == ([422], 422)  # the archive is refused as a whole, its good entry with it
    assert not any("evil" in name for name in held(tmp_path))


def test_an_archive_is_unpacked(tmp_path: Path) -> None:
    """A zip does what the folder in it would do."""
    desk = desk_at(tmp_path)
    status, told, _ = send(
        client_of(desk),
        {"kit.zip": zipped({"glider/rib.stl": MESH, "glider/.x/y.stl": MESH, "__MACOSX/z.stl": b""})},
    )
    assert (status, told["airframe"]) == (200, "glider")
    assert {n for n in held(desk.workspace.root / "glider") if n.endswith(".stl")} == {"rib.stl"}


def test_an_archive_that_swells_is_refused(tmp_path: Path) -> None:
    """A zip bomb by its ratio: 40 MB of noughts in 40 kB."""
    desk = desk_at(tmp_path, DropLimits(archive_floor_bytes=1_000_000))
    _, _, each = send(client_of(desk), {"kit.zip": zipped({"rib.stl": bytes(40_000_000)})})
    assert each == [422]
    assert sum(p.stat().st_size for p in tmp_path.rglob("*") if p.is_file()) < 1_000_000


def test_an_archive_of_many_small_swellings_is_refused_by_their_sum(tmp_path: Path) -> None:
    """Under the ratio each, over the limit together."""
    desk = desk_at(tmp_path, DropLimits(all_bytes=3_000_000))
    _, _, each = send(client_of(desk), {"kit.zip": zipped({f"rib{k}.stl": bytes(900_000) for k in range(8)})})
    assert each == [422]


def test_an_entry_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    """The directory of the archive says 10 bytes; what comes out is counted."""
    body = bytearray(zipped({"rib.stl": bytes(5000)}))
    at = body.rfind(b"PK\x01\x02")
    body[at + 24 : at + 28] = struct.pack("<I", 10)
    _, _, each = send(client_of(desk_at(tmp_path)), {"kit.zip": bytes(body)})
    assert each == [422]


@pytest.mark.parametrize("body", [b"", b"PK\x03\x04 broken", b"no archive at all"])
def test_a_damaged_archive_is_refused(tmp_path: Path, body: bytes) -> None:
    """With a sentence, not with a failure of the page."""
    assert send(client_of(desk_at(tmp_path)), {"kit.zip": body})[2] == [422]


def test_files_over_the_limits_are_refused(tmp_path: Path) -> None:
    """One file too large, one record too large, one file too many."""
    client = client_of(desk_at(tmp_path, DropLimits(file_bytes=1000, record_bytes=100, files=2)))
    files = {
        "a.stl": bytes(1001),
        "airframe.toml": bytes(101),
        "b.stl": bytes(10),
        "c.stl": bytes(10),
        "d.stl": bytes(10),
    }
    assert send(client, files)[2] == [422, 422, 200, 200, 422]


def test_a_drop_without_a_mesh_is_refused(tmp_path: Path) -> None:
    """It would be an airframe of nothing."""
    status, told, _ = send(client_of(desk_at(tmp_path)), {"airframe.toml": b"[airframe]\n"})
    assert (status, "no mesh" in str(told["message"])) == (422, True)


def test_files_can_be_added_to_an_airframe(tmp_path: Path) -> None:
    """A new mesh joins, one of the same name is replaced."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    client = client_of(desk)
    key = client.post("/drop", json={}).json()["key"]
    for path in ("hull.stl", "fin.stl"):
        client.put(f"/drop/{key}", params={"path": path}, content=MESH)
    assert client.post(f"/drop/{key}/done", json={"into": "glider"}).json() == {"airframe": "glider"}
    assert (folder / "hull.stl").read_bytes() == (folder / "fin.stl").read_bytes() == MESH


def test_a_link_in_an_airframe_folder_is_not_written_through(tmp_path: Path) -> None:
    """A link that somebody put there does not lead a dropped file out of the workspace."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    outside = tmp_path / "outside"
    outside.mkdir()
    (folder / "sub").symlink_to(outside)
    client = client_of(desk)
    key = client.post("/drop", json={}).json()["key"]
    client.put(f"/drop/{key}", params={"path": "sub/fin.stl"}, content=MESH)
    client.put(f"/drop/{key}", params={"path": "fin.stl"}, content=MESH)
    assert client.post(f"/drop/{key}/done", json={"into": "glider"}).status_code == 422
    assert not list(outside.iterdir())


@pytest.mark.parametrize("into", ["..", "../x", "nothing", ".page"])
def test_files_cannot_be_added_to_what_is_no_airframe(tmp_path: Path, into: str) -> None:
    """The identifier is checked as every address is."""
    client = client_of(desk_at(tmp_path))
    key = client.post("/drop", json={}).json()["key"]
    client.put(f"/drop/{key}", params={"path": "fin.stl"}, content=MESH)
    assert client.post(f"/drop/{key}/done", json={"into": into}).status_code == 404


@pytest.mark.parametrize(("said", "kept"), [("America/St_Johns", "America/St_Johns"), ("Mars/Base", None)])
def test_the_zone_of_the_browser_goes_into_the_draft(tmp_path: Path, said: str, kept: str | None) -> None:
    """The hours that are drafted after a drop are those of who sits before the page."""
    from planner.web.jobs.worker_tasks import look
    from planner.web.settings import settings_of

    desk = desk_at(tmp_path)
    client = client_of(desk)
    key = client.post("/drop", json={}).json()["key"]
    client.put(f"/drop/{key}", params={"path": "kit/rib.stl"}, content=MESH)
    named = client.post(f"/drop/{key}/done", json={"name": "kit", "zone": said}).json()["airframe"]
    folder = desk.workspace.folder(named)
    assert settings_of(folder)["zone"] == kept
    look(str(folder), "", lambda *_: None)
    text = (folder.parent / "workshop.toml").read_text(encoding="utf-8")
    assert (f'time_zone = "{said}"' in text) == (kept is not None)


def test_what_was_taken_stays_when_the_same_name_comes_again_and_breaks_off(tmp_path: Path) -> None:
    """A second try that is too large, or an archive that is damaged behind its first entry."""
    desk = desk_at(tmp_path, DropLimits(file_bytes=2000))
    client = client_of(desk)
    key = client.post("/drop", json={}).json()["key"]
    assert client.put(f"/drop/{key}", params={"path": "kit/rib.stl"}, content=MESH).status_code == 200
    assert client.put(f"/drop/{key}", params={"path": "kit/rib.stl"}, content=bytes(3000)).status_code == 422
    archive = bytearray(zipped({"kit/rib.stl": b"other", "kit/fin.stl": MESH}))
    archive[archive.find(b"fin.stl") + 12] ^= 0xFF  # in what is packed: its sum does not hold any more
    assert client.put(f"/drop/{key}", params={"path": "kit.zip"}, content=bytes(archive)).status_code == 422
    assert client.post(f"/drop/{key}/done", json={"name": "kit"}).status_code == 200
    folder = desk.workspace.root / "kit"
    assert {n for n in held(folder) if n.endswith(".stl")} == {"rib.stl"}
    assert (folder / "rib.stl").read_bytes() == MESH


def test_a_drop_that_is_given_up_while_a_file_comes_takes_it_no_more(tmp_path: Path) -> None:
    """The rest of the file goes nowhere; it is no failure of the page."""
    desk = desk_at(tmp_path)
    key = desk.drops.begin()

    async def chunks() -> AsyncIterator[bytes]:
        yield b"solid"
        desk.drops.forget(key)
        yield b"ly"

    with pytest.raises(NotHere):
        asyncio.run(desk.drops.receive(key, "rib.stl", chunks()))
    assert not list(tmp_path.rglob("*.stl"))


class Unpacked:
    """Entries that are read only once something else was done meanwhile."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, meanwhile: Callable[[], object]) -> None:
        self.begun, self.goes_on = threading.Event(), threading.Event()
        self.before, self.meanwhile = drop.Drops._entry, meanwhile

        def entry(drops: drop.Drops, *given: Any) -> None:
            self.begun.set()
            assert self.goes_on.wait(10.0)
            self.before(drops, *given)

        monkeypatch.setattr(drop.Drops, "_entry", entry)

    async def beside(self, work: Coroutine[Any, Any, str]) -> str:
        """The archive is being unpacked; the loop is free to do something else."""
        task = asyncio.create_task(work)
        while not self.begun.is_set():
            await asyncio.sleep(0.001)
        self.meanwhile()
        self.goes_on.set()
        return await task


async def body(archive: bytes) -> AsyncIterator[bytes]:
    """A body in one piece."""
    yield archive


def test_others_are_answered_while_an_archive_is_unpacked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The unpacking waits for what is done in the loop meanwhile, which would never be done in its thread."""
    drops, told = desk_at(tmp_path).drops, []
    key = drops.begin()
    work = drops.receive(key, "kit.zip", body(zipped({"kit/rib.stl": MESH})))
    assert asyncio.run(Unpacked(monkeypatch, lambda: told.append(drops.begin())).beside(work)) == "taken"
    assert len(told) == 1
    assert list(drops.get(key).taken) == ["kit/rib.stl"]


def test_a_drop_that_is_given_up_while_it_is_unpacked_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No file of it stays in the staging folder; it is no failure of the page."""
    drops = desk_at(tmp_path).drops
    key = drops.begin()
    work = drops.receive(key, "kit.zip", body(zipped({"kit/rib.stl": MESH, "kit/fin.stl": MESH})))
    with pytest.raises(NotHere):
        asyncio.run(Unpacked(monkeypatch, lambda: drops.forget(key)).beside(work))
    assert not list(tmp_path.rglob("*.stl"))
    assert not list(tmp_path.rglob(key))
