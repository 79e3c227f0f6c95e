"""What each address gives: bytes of meshes, pictures, downloads, texts, and every sheet of the index."""

from __future__ import annotations

import io
import struct
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html
from starlette.testclient import TestClient

from planner.web.routes import sheets
from planner.web.routes.sheet_page import INDEX
from planner.web.views.palette import colour
from planner.web.words import say, words
from planner.web.workspace import OWN, RESULTS
from tests.builders import sphere
from tests.unit.web.page_desk import airframe_in, client_of, desk_at


@pytest.fixture(name="page")
def _page(tmp_path: Path) -> tuple[TestClient, Path]:
    desk = desk_at(tmp_path)
    return client_of(desk), airframe_in(desk)


def test_every_sheet_of_the_index_has_its_address(page: tuple[TestClient, Path]) -> None:
    """And a name in words; those that need a plan answer without one, too."""
    client, _ = page
    for address, key, _ in INDEX:
        answer = client.get(f"/a/glider{address}")
        assert answer.status_code == 200, address
        assert say(key) in html.fromstring(answer.text).text_content()


def test_scripts_get_their_texts_and_no_others(page: tuple[TestClient, Path]) -> None:
    assert "/texts.json" in {route.path for route in sheets.SHEETS}
    told = page[0].get("/texts.json").json()
    assert told
    assert told == {key: text for key, text in words().items() if key.startswith("js_")}


def test_a_mesh_is_given_as_little_endian_corners(page: tuple[TestClient, Path]) -> None:
    """Of four bytes, facet by facet; its key is that of the look."""
    client, _ = page
    rows = client.get("/a/glider/scenes").json()["parts"]
    assert list(rows) == ["rib 1", "rib 2", "hull"]
    assert (rows["rib 1"]["colour"], rows["hull"]["colour"]) == (colour(0), colour(1))
    answer = client.get(f"/a/glider/scene/{rows['hull']['key']}")
    corners = np.frombuffer(answer.content, "<f4").reshape(-1, 3)
    assert answer.headers["content-type"] == "application/octet-stream"
    assert (corners.max(axis=0) - corners.min(axis=0)).tolist() == [40.0, 13.0, 3.0]
    assert len(corners) == 36


def test_a_coarse_mesh_is_made_once(page: tuple[TestClient, Path], monkeypatch: pytest.MonkeyPatch) -> None:
    """Kept beside the fine one, with nothing half written left."""
    client, folder = page
    kept = folder / OWN / "scene"
    np.save(kept / "ball.npy", sphere(50.0, 6).triangles.astype(np.float32))
    first = client.get("/a/glider/scene/ball?coarse=1").content
    assert len(first) < len(client.get("/a/glider/scene/ball").content)
    monkeypatch.setattr("planner.web.views.scene.light", lambda *_: pytest.fail("made again"))
    assert client.get("/a/glider/scene/ball?coarse=1").content == first
    assert [path.name for path in kept.iterdir() if path.name.startswith(".")] == []


@pytest.mark.parametrize("key", ["nothing", "a-b", "%2e%2e%2fsecret", "ball.npy"])
def test_no_other_key_opens_a_file(key: str, page: tuple[TestClient, Path]) -> None:
    for path in (f"/a/glider/scene/{key}", f"/a/glider/picture/{key}/0"):
        assert page[0].get(path).status_code == 404


def test_a_picture_is_a_png_in_the_colour_of_its_section(
    page: tuple[TestClient, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ranks come round after six, so that no address fills the disk."""
    client, folder = page
    key = client.get("/a/glider/scenes").json()["parts"]["hull"]["key"]
    first = client.get(f"/a/glider/picture/{key}/1")
    assert first.headers["content-type"] == "image/png"
    assert first.content[:8] == b"\x89PNG\r\n\x1a\n"  # Source: ISO/IEC 15948, 5.2
    wide, high = struct.unpack(">II", first.content[16:24])
    assert min(wide, high) >= 32
    monkeypatch.setattr("planner.web.views.picture.picture", lambda *_: pytest.fail("drawn again"))
    assert client.get(f"/a/glider/picture/{key}/7").content == first.content
    assert len(list((folder / OWN / "pictures").iterdir())) == 1


def _results(folder: Path) -> None:
    for name, text in (("plan.json", "{}"), ("report.html", "<p>"), ("a b.csv", "1"), ("bed.svg", "<svg/>")):
        (folder / RESULTS).mkdir(exist_ok=True)
        (folder / RESULTS / name).write_text(text, encoding="utf-8")


@pytest.mark.parametrize(
    ("name", "kind", "way"),
    [
        ("report.html", "text/html", "inline"),
        ("bed.svg", "image/svg+xml", "inline"),
        ("report.html?save=1", "text/html", "attachment"),
        ("plan.json", "application/json", "attachment"),
        ("a%20b.csv", "text/csv", "attachment"),
    ],
)
def test_reports_and_drawings_are_shown_and_all_else_is_saved(
    name: str, kind: str, way: str, page: tuple[TestClient, Path]
) -> None:
    """Neither may run or fetch anything."""
    client, folder = page
    _results(folder)
    answer = client.get(f"/a/glider/file/{name}")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith(kind)
    assert answer.headers["content-disposition"].startswith(way)
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "sandbox" in policy
    assert "script-src" not in policy


def test_everything_in_one_archive(page: tuple[TestClient, Path]) -> None:
    """Nothing is there before a plan is."""
    client, folder = page
    assert client.get("/a/glider/all.zip").status_code == 404
    _results(folder)
    answer = client.get("/a/glider/all.zip")
    assert answer.headers["content-disposition"] == 'attachment; filename="glider.zip"'
    with zipfile.ZipFile(io.BytesIO(answer.content)) as opened:
        assert sorted(opened.namelist()) == [
            f"glider/{n}" for n in ("a b.csv", "bed.svg", "plan.json", "report.html")
        ]


def test_the_first_sheet_has_a_card_for_each_airframe(page: tuple[TestClient, Path]) -> None:
    """Three pictures of the largest meshes, and how many there are."""
    client, _ = page
    tree: Any = html.fromstring(client.get("/").text)
    pictures = [one.get("src") for one in tree.xpath("//img[contains(@src, '/picture/')]")]
    keys = client.get("/a/glider/scenes").json()["parts"]
    assert len(pictures) == 3
    assert {src.split("/")[-2] for src in pictures} == {row["key"] for row in keys.values()}
    assert tree.xpath("//a[@href='/a/glider']")


def test_nothing_here_is_told_in_the_manner_it_was_asked(page: tuple[TestClient, Path]) -> None:
    client, _ = page
    told = client.get("/a/nobody", headers={"content-type": "application/json"})
    assert (told.status_code, told.json()) == (404, {"message": words()["not_here"]})
    shown = client.get("/a/nobody")
    assert shown.status_code == 404
    assert shown.headers["content-type"].startswith("text/html")


def test_colours_and_mark_are_served(page: tuple[TestClient, Path]) -> None:
    client, _ = page
    assert client.get("/colours.css").headers["content-type"].startswith("text/css")
    assert client.get("/mark.svg").headers["content-type"].startswith("image/svg+xml")
