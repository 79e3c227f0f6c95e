"""Whatever a request holds, the answer is in words: no body ends in an error of the server."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from planner.web.routes import mutations
from planner.web.settings import settings_of
from tests.unit.web.page_desk import airframe_in, client_of, desk_at

A = "/a/glider"
HUGE = "1" + "0" * 400


@pytest.fixture(name="client")
def _client(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> TestClient:
    """A page whose plans and looks begin nothing."""
    desk = desk_at(tmp_path)
    airframe_in(desk)
    monkeypatch.setattr(desk.runs, "start", lambda *given: given[2]["seed"] != 404)
    monkeypatch.setattr(desk.bench, "warm", lambda: None)
    return client_of(desk)


@pytest.fixture(name="refusing", scope="module")
def _refusing(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """A page that only refuses: one for all of that."""
    desk = desk_at(tmp_path_factory.mktemp("refusing"))
    airframe_in(desk)
    return client_of(desk)


def post(client: TestClient, path: str, body: str | bytes | dict[str, Any]) -> Any:
    data = json.dumps(body) if isinstance(body, dict) else body
    return client.post(path, content=data, headers={"content-type": "application/json"})


@pytest.mark.parametrize(
    "body", ["", "[]", "5", "null", "{", "[" * 100_000, '{"a": NaN}', '{"a": 1e999}', b"\xff\xfe"]
)
@pytest.mark.parametrize("path", ["/edit", "/study", "/run", "/stop", "/reckon"])
def test_what_is_no_object_is_refused(path: str, body: str, refusing: TestClient) -> None:
    answer = post(refusing, A + path, body)
    assert answer.status_code == 422, answer.text
    assert answer.json()["message"]


@pytest.mark.parametrize(
    ("path", "body", "told"),
    [
        ("/study", f'{{"mass": {HUGE}}}', "no number that can be used"),
        ("/study", '{"mass": true}', "must be a number of grams"),
        ("/run", f'{{"seed": {HUGE}}}', "no number that can be used"),
        ("/run", '{"seed": -1}', "must be a whole number from 0"),
        ("/run", '{"seed": true}', "must be a whole number from 0"),
        ("/run", '{"seed": 1.5}', "must be a whole number from 0"),
        ("/run", '{"effort": []}', "effort"),
        ("/run", '{"effort": "hard"}', "effort"),
        ("/run", '{"start": "soon"}', "is not a date and time"),
        ("/run", '{"zone": "Mars/Base"}', "time zone database"),
        ("/edit", '{"do": "part", "given": {"part": "hull", "key": [], "value": 1}}', ""),
        (
            "/edit",
            '{"do": "take", "given": {"changes": [], "moves": [{"fitting": "x", "station_mm": 1}]}}',
            "",
        ),
        ("/edit", '{"do": "take", "given": {"changes": [{}]}}', "no part"),
        ("/edit", '{"do": "take", "given": {"changes": 5}}', "cannot be read"),
        ("/edit", '{"do": "take", "given": {"changes": ["x"]}}', "cannot be read"),
        ("/edit", f'{{"do": "head", "given": {{"key": "target_mass_g", "value": {HUGE}}}}}', "no number"),
        ("/edit", '{"do": "part", "given": []}', "cannot be read"),
        ("/edit", "{}", "no edit 'None'"),
    ],
)
def test_values_that_cannot_be_used_are_refused_in_words(
    path: str, body: str, told: str, refusing: TestClient
) -> None:
    answer = post(refusing, A + path, body)
    assert answer.status_code == 422, answer.text
    assert told in answer.json()["message"]


def test_a_take_without_a_place_to_go_is_refused(tmp_path: Path, client: TestClient) -> None:
    """The fitting is there, the place is not told; the file stays as it was."""
    file = tmp_path / "workspace" / "glider" / "airframe.toml"
    text = file.read_text(encoding="utf-8") + '\n[[fitting]]\nname = "cell"\nmass_g = 20\nstation_mm = 10\n'
    file.write_text(text, encoding="utf-8")
    move = {"fitting": "cell", "station_mm": 10}
    answer = post(client, f"{A}/edit", {"do": "take", "given": {"changes": [], "moves": [move]}})
    assert answer.status_code == 422, answer.text
    assert "cannot be read" in answer.json()["message"]
    assert file.read_text(encoding="utf-8") == text


def test_a_request_is_json_and_not_too_large(client: TestClient) -> None:
    """Just as large as it may be, it is read."""
    form = client.post(f"{A}/run", content="seed=1", headers={"content-type": "text/plain"})
    assert (form.status_code, form.json()["message"]) == (422, "the request holds no JSON.")
    room = mutations.MOST_BODY - len('{"pad": ""}')
    assert post(client, f"{A}/run", f'{{"pad": "{"x" * room}"}}').status_code == 200
    large = post(client, f"{A}/run", f'{{"pad": "{"x" * (room + 1)}"}}')
    assert large.status_code == 422
    assert str(mutations.MOST_BODY) in large.json()["message"]


def test_what_is_asked_of_a_plan_is_kept(tmp_path: Path, client: TestClient) -> None:
    """And told whether it has begun; a refusal keeps what was."""
    assert post(client, f"{A}/run", {"seed": 5, "effort": "quick"}).json() == {"begun": True}
    assert post(client, f"{A}/run", {"seed": 404}).json() == {"begun": False}
    assert post(client, f"{A}/run", {"seed": 6, "effort": "hard"}).status_code == 422
    kept = settings_of(tmp_path / "workspace" / "glider")
    assert (kept["seed"], kept["effort"]) == (404, "quick")


def test_an_edit_tells_before_and_after_and_is_taken_back(client: TestClient) -> None:
    made = post(
        client, f"{A}/edit", {"do": "part", "given": {"part": "hull", "key": "recipe", "value": "solid"}}
    ).json()
    assert made["before"] != made["revision"]
    assert "solid" in made["label"]
    back = post(client, f"{A}/undo", {}).json()
    assert (back["before"], back["revision"]) == (made["revision"], made["before"])
    assert made["label"] in back["label"]


def test_a_record_that_is_wrong_is_not_planned(tmp_path: Path, client: TestClient) -> None:
    file = tmp_path / "workspace" / "glider" / "airframe.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("copies = 2", "copies = -2"), encoding="utf-8")
    for path in ("/run", "/study"):
        answer = post(client, A + path, {})
        assert answer.status_code == 422
        assert "copies" in answer.json()["message"]


@pytest.mark.parametrize("path", ["/edit", "/undo", "/reckon", "/look", "/run", "/study", "/stop", "/remove"])
def test_an_airframe_that_is_not_there_is_told(path: str, refusing: TestClient) -> None:
    for name in ("nobody", "..", "%2e%2e", ".page"):
        answer = post(refusing, f"/a/{name}{path}", {})
        assert answer.status_code in (404, 405), (name, answer.text)
