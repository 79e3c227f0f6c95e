"""Nothing is shown or changed for anybody but the page of this start."""

from __future__ import annotations

from pathlib import Path

import pytest

from planner.web.guard import POLICY
from tests.unit.web.page_desk import HOST, TOKEN, airframe_in, client_of, desk_at


@pytest.mark.parametrize("path", ["/", "/a/glider", "/static/page.js", "/a/glider/all.zip", "/texts.json"])
def test_without_the_token_nothing_is_shown(tmp_path: Path, path: str) -> None:
    """Every address answers 403 until the token of this start was brought."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    assert client_of(desk, signed_in=False).get(path).status_code == 403


def test_the_token_in_the_address_becomes_a_cookie_that_scripts_cannot_read(tmp_path: Path) -> None:
    """The address of the terminal works once in the address bar and then by cookie."""
    client = client_of(desk_at(tmp_path), signed_in=False)
    answer = client.get(f"/?token={TOKEN}", follow_redirects=False)
    cookie = answer.headers["set-cookie"].lower()
    assert answer.status_code == 303
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert client.get("/").status_code == 200


def test_a_wrong_token_is_refused(tmp_path: Path) -> None:
    """Neither in the address nor as a cookie."""
    client = client_of(desk_at(tmp_path), signed_in=False)
    assert client.get("/?token=guessed").status_code == 403
    client.cookies.set("planner-test", "guessed")
    assert client.get("/").status_code == 403


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8317", "127.0.0.1:9999", "127.0.0.1", ""])
def test_a_foreign_host_is_refused(tmp_path: Path, host: str) -> None:
    """A name that was bent to point here (DNS rebinding) does not open the page."""
    assert client_of(desk_at(tmp_path)).get("/", headers={"host": host}).status_code == 421


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "https://127.0.0.1:8317", "null", "http://127.0.0.1:1"]
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_foreign_origin_is_refused(tmp_path: Path, origin: str, method: str) -> None:
    """Another page in the same browser can neither read nor write, cookie or not."""
    client = client_of(desk_at(tmp_path))
    assert client.request(method, "/drop", headers={"origin": origin}).status_code == 403


def test_a_change_without_an_origin_is_refused(tmp_path: Path) -> None:
    """Browsers send an origin with every change; what has none is no browser of ours."""
    client = client_of(desk_at(tmp_path))
    del client.headers["origin"]
    assert client.post("/drop", json={}).status_code == 403


def test_what_another_site_embeds_is_refused(tmp_path: Path) -> None:
    """A picture of the page in a foreign page stays empty."""
    client = client_of(desk_at(tmp_path))
    del client.headers["origin"]
    answer = client.get("/", headers={"sec-fetch-site": "cross-site", "sec-fetch-mode": "no-cors"})
    assert answer.status_code == 403


def test_every_answer_carries_the_strict_policy(tmp_path: Path) -> None:
    """No inline script, nothing from elsewhere, no frames, no sniffing."""
    answer = client_of(desk_at(tmp_path)).get("/")
    assert answer.headers["content-security-policy"] == POLICY
    assert "unsafe" not in POLICY
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert answer.headers["referrer-policy"] == "no-referrer"


def test_no_sheet_holds_inline_script_or_style(tmp_path: Path) -> None:
    """What the policy forbids is not needed anywhere."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    client = client_of(desk)
    for path in ("/", "/a/glider", "/a/glider/workshop", "/a/glider/plan", "/a/glider/records"):
        answer = client.get(path)
        assert answer.status_code == 200
        text = answer.text.lower()
        assert " style=" not in text
        assert " onclick" not in text
        assert text.count("<script") == text.count('<script src="/static') + text.count(
            '<script type="module" src="/static'
        )


def test_a_request_that_is_no_json_object_is_refused(tmp_path: Path) -> None:
    """Forms of other pages cannot be taken for edits."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    client = client_of(desk)
    for body, kind in (
        (b"do=part", "application/x-www-form-urlencoded"),
        (b"[1]", "application/json"),
        (b"{", "application/json"),
    ):
        answer = client.post("/a/glider/edit", content=body, headers={"content-type": kind, "host": HOST})
        assert answer.status_code == 422
