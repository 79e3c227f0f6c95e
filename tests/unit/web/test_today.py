"""The sheet Today by its routes: what it shows, what it takes, and the plan that waits to be taken."""

from __future__ import annotations

import errno
import json
import shutil
import zipfile
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from lxml import html
from starlette.testclient import TestClient

from planner.api.recording import Told, record
from planner.api.today_sheet import BedPicture, Lying
from planner.ledger.handed import look_through
from planner.model.plan import Plan
from planner.report.exports.plan_json import plan_json
from planner.web import ledger, workspace
from planner.web.desk import Desk
from planner.web.jobs.runs import gone_on
from planner.web.routes import today as routes
from planner.web.views import onward_view
from planner.web.views.onward_view import NONE, onward_record, written
from planner.web.views.plan_stamp import ONWARD, PLAN, plan_stamp
from planner.web.views.today_view import changes_of, picture, today_view
from planner.web.words import say
from planner.web.workspace import BESIDE, OWN, RESULTS, read_record, write_record
from tests.plan_samples import START, sample_plan
from tests.unit.web.page_desk import airframe_in, client_of, desk_at

LATER = START + timedelta(hours=3)
AT = f"{LATER:%Y-%m-%dT%H:%M}"


KEPT = {
    "identification": "0a0a12b4",
    "made": "2026-12-01T18:00:00+00:00",
    "revision": "r",
    "measures": {"beds": 5, "printed_g": 301.26, "cost": "20.00 EUR"},
}
VISIT = ("see that spool 4 is on small", "start bed 2 on small", "watch the first layers of bed 2 for 5 min",
         "start bed 1 on large")  # fmt: skip


def view_of(plan: Plan) -> dict[str, Any]:
    """What the sheets would show of a plan, as far as it matters here: all of it takes seconds to draw."""
    measures = {
        "beds": len(plan.batches),
        "printed_g": plan.mass.printed_g,
        "total_g": 900.0,
        "cost": "21 EUR",
    }
    return {"identification": "ffff", "measures": measures, "finish": "Fri 2026-12-04 20:04"}


@pytest.fixture(autouse=True)
def _undrawn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Sheets are drawn in their own tests."""
    monkeypatch.setattr(onward_view, "plan_view", view_of)
    monkeypatch.setattr(onward_view, "card", lambda plan: {"title": plan.airframe.name})


def visited() -> Plan:
    """The sample plan with a first visit in the words of today."""
    plan = sample_plan()
    first = replace(plan.schedule.visits[0], tasks=VISIT, minutes=30)
    return replace(plan, schedule=replace(plan.schedule, visits=(first, *plan.schedule.visits[1:])))


@pytest.fixture(name="desk")
def _desk(tmp_path: Path) -> Desk:
    """A glider with the sample plan; its meshes do not matter here."""
    desk = desk_at(tmp_path)
    folder = airframe_in(desk)
    (folder / RESULTS).mkdir()
    (folder / RESULTS / "plan.json").write_text(plan_json(visited()), encoding="utf-8")
    (folder / RESULTS / "written.json").write_text('["plan.json"]', encoding="utf-8")
    write_record(folder, PLAN, KEPT)
    return desk


@pytest.fixture(name="page")
def _page(desk: Desk) -> tuple[TestClient, Path]:
    return client_of(desk), desk.workspace.folder("glider")


def fact(client: TestClient, *words: str, uid: str = "phone-001", **more: Any) -> Any:
    """Tap something."""
    return client.post("/a/glider/fact", json={"uid": uid, "words": list(words), **more})


def shown(client: TestClient, at: str = AT) -> Any:
    """The sheet as a tree."""
    return html.fromstring(client.get("/a/glider/today", params={"at": at}).text)


def test_every_step_and_every_bed_can_be_tapped(page: tuple[TestClient, Path]) -> None:
    """With the very words of ``record``; what is told is shown with what takes it back."""
    client, _ = page
    tree = shown(client, f"{START:%Y-%m-%dT%H:%M}")
    steps = [json.loads(node.get("data-fact"))["words"] for node in tree.xpath("//button[@class='step']")]
    assert steps == [["changed", "small"], ["bed 2", "began"], ["bed 1", "began"]]
    for words in steps:
        assert fact(client, *words, uid=f"phone-{'-'.join(words).replace(' ', '')}").status_code == 200
    later = shown(client)
    assert later.xpath("//button[@class='step']") == []
    back = json.loads(later.xpath("//ul[@class='told']//button/@data-fact")[0])
    assert back["words"] == ["undo"]
    assert "by page" in later.xpath("//ul[@class='told']")[-1].text_content()
    assert fact(client, *back["words"], uid="phone-back", takes_back=back["takes_back"]).status_code == 200


def test_numbers_get_the_keyboard_with_digits(page: tuple[TestClient, Path]) -> None:
    """Grams, reels, heights, layers."""
    client, _ = page
    fact(client, "bed 1", "done")
    fact(client, "bed 2", "began", uid="phone-002")
    tree = shown(client)
    modes = {
        node.get("name"): node.get("inputmode") for node in tree.xpath("//*[@id='today']//input[@inputmode]")
    }
    assert modes["grams"] == modes["height_mm"] == "decimal"
    assert modes["layer"] == "numeric"
    assert [one.get("value") for one in tree.xpath("//form[@id='weigh']//input[@name='piece']")] == [
        "wing root L", "wing root R", "wing mid L", "wing mid R",
    ]  # fmt: skip


def test_a_fact_is_refused_in_the_words_of_the_command(page: tuple[TestClient, Path]) -> None:
    """422 and a sentence; a repeat is no refusal."""
    client, folder = page
    first = fact(client, "bed 1", "done")
    assert first.status_code == 200
    assert first.json()["lines"][0].startswith("bed 1 is done on large")
    assert first.json()["facts"]
    assert fact(client, "bed 1", "done").json()["lines"] == ["recorded already"]
    answer = fact(client, "bed 1", "failed", uid="phone-002")
    assert answer.status_code == 422
    assert "bed 1 is recorded as done" in answer.json()["message"]
    told = client.get("/a/glider/run").json()["facts"]
    assert told == first.json()["facts"]
    assert (folder / "ledger.sqlite").is_file()


def test_guard_rails_hold_for_facts_and_plans(desk: Desk) -> None:
    """No token, another origin, no JSON: nothing is written."""
    addresses = ("/a/glider/fact", "/a/glider/onward", "/a/glider/onward/take")
    for address in addresses:
        assert client_of(desk, signed_in=False).post(address, json={}).status_code == 403
        answer = client_of(desk).post(address, json={}, headers={"origin": "http://evil.example"})
        assert answer.status_code == 403
    assert client_of(desk).post("/a/glider/fact", content=b"x").status_code == 422
    assert client_of(desk).get("/a/nothing/today").status_code == 404
    assert fact(client_of(desk), "bed 1", "done", uid="' OR 1=1 --").status_code == 422
    assert not (desk.workspace.folder("glider") / "ledger.sqlite").exists()


def test_names_are_shown_and_never_obeyed(page: tuple[TestClient, Path]) -> None:
    """Pieces and printers may be called anything."""
    client, folder = page
    odd = '<img src=x onerror="alert(1)">'
    path = folder / RESULTS / "plan.json"
    told = json.loads(path.read_text(encoding="utf-8"))
    text = json.dumps(told).replace('"wing mid L"', json.dumps(odd)).replace('"large"', json.dumps("'\"><b>"))
    path.write_text(text, encoding="utf-8")
    body = client.get("/a/glider/today", params={"at": AT}).text
    assert "<img" not in body
    assert "'\"><b>" not in body
    tree = html.fromstring(body)
    assert odd in tree.xpath("//input[@name='good']/@value")


def test_without_a_plan_or_with_a_damaged_ledger_it_says_so(page: tuple[TestClient, Path]) -> None:
    """A sheet, no traceback."""
    client, folder = page
    (folder / "ledger.sqlite").write_text("no ledger " * 500)
    answer = client.get("/a/glider/today")
    assert answer.status_code == 200
    assert (
        "damaged or no ledger"
        in html.fromstring(answer.text).xpath("//*[@id='today-wrong']")[0].text_content()
    )
    assert "no moment" in client.get("/a/glider/today", params={"at": "soon"}).text
    shutil.rmtree(folder / RESULTS)
    assert say("no_plan_sheet") in client.get("/a/glider/today").text


def test_beds_are_drawn_upside_down_for_the_screen() -> None:
    """y runs down there; numbers stand inside, smaller on small pieces."""
    low = Lying("a", 1, ((10.0, 10.0), (50.0, 10.0), (50.0, 40.0), (10.0, 40.0)))
    thin = Lying("b", 2, ((0.0, 100.0), (60.0, 100.0), (60.0, 104.0)))
    flat = Lying("c", 3, ((0.0, 0.0), (4.0, 0.0)))
    made = picture(BedPicture("round", 120.0, 110.0, (low, thin, flat)))
    assert made is not None
    assert made["pieces"][0]["points"].startswith("10.0,100.0 50.0,100.0 50.0,70.0")
    assert (made["pieces"][0]["x"], made["pieces"][0]["y"]) == ("30.0", "85.0")
    assert [piece["small"] for piece in made["pieces"]] == [False, True, True]
    assert (made["pieces"][2]["x"], made["pieces"][2]["y"]) == ("2.0", "110.0")
    assert picture(None) is None


def test_the_ledger_is_that_of_the_workshop_that_holds(desk: Desk) -> None:
    """In the folder with its own workshop, else shared; one that came with the folder goes before."""
    folder = desk.workspace.folder("glider")
    assert ledger.place_for(folder).file == folder / "ledger.sqlite"
    (folder / "workshop.toml").rename(folder.parent / "workshop.toml")
    assert ledger.place_for(folder).file == folder.parent / "ledger.sqlite"
    (folder / "ledger.sqlite").touch()
    assert ledger.place_for(folder).file == folder / "ledger.sqlite"


def test_facts_are_there_after_a_restart_and_in_the_archive(desk: Desk, tmp_path: Path) -> None:
    """Another start of the page over the same workspace; the archive holds the ledger as it is now."""
    fact(client_of(desk), "bed 1", "done")
    desk.close()
    again = desk_at(tmp_path)
    assert "bed 1 done" in client_of(again).get("/a/glider/today").text
    body = client_of(again).get("/a/glider/all.zip").content
    with zipfile.ZipFile(BytesIO(body)) as opened:
        opened.extract("glider/ledger.sqlite", tmp_path / "taken")
    assert look_through(tmp_path / "taken" / "glider" / "ledger.sqlite") == 1


# ---------------------------------------------------------------- the plan that goes on
def waiting(folder: Path, **changed: Any) -> dict[str, Any]:
    """A plan that waits to be taken, as a process would leave it."""
    made = folder / OWN / BESIDE
    (made / "beds").mkdir(parents=True)
    (made / "plan.json").write_text(plan_json(sample_plan()).replace("18:00", "18:01", 1), encoding="utf-8")
    (made / "beds" / "bed 1.3mf").write_bytes(b"x")
    (made / "written.json").write_text('["plan.json", "beds/bed 1.3mf"]', encoding="utf-8")
    record_ = onward_record(sample_plan(), read_record(folder, PLAN), "2026-12-02T08:00:00+00:00", "r2")
    write_record(folder, ONWARD, {**record_, **changed})
    return record_


def test_what_would_change_is_shown_and_nothing_is_changed(page: tuple[TestClient, Path]) -> None:
    """Finish, beds, hours, grams, money, before and then."""
    client, folder = page
    before = (folder / RESULTS / "plan.json").read_bytes()
    waiting(folder)
    tree = shown(client)
    rows = {
        row[0].text_content(): [cell.text_content() for cell in row[1:]]
        for row in tree.xpath("//table[@class='what']/tbody/tr")
    }
    plan = sample_plan()
    assert rows[say("onward_printed")] == ["301.3 g", f"{plan.mass.printed_g:.1f} g"]
    assert rows[say("onward_total")] == [NONE, "900.0 g"]
    assert rows[say("onward_cost")] == ["20.00 EUR", "21 EUR"]
    assert rows[say("onward_beds")] == ["5", "5"]
    assert len(tree.xpath("//button[@id='onward-take' and not(@disabled)]")) == 1
    assert (folder / RESULTS / "plan.json").read_bytes() == before


def test_taking_it_puts_results_and_sheets_in_place(page: tuple[TestClient, Path]) -> None:
    """Files of before are gone with it; it can be taken once."""
    client, folder = page
    kept = waiting(folder)
    answer = client.post("/a/glider/onward/take", json={})
    assert answer.status_code == 200
    assert answer.json()["plan"] == plan_stamp(kept["view"])
    assert sorted(path.name for path in (folder / RESULTS).rglob("*") if path.is_file()) == [
        "bed 1.3mf", "plan.json", "written.json",
    ]  # fmt: skip
    assert read_record(folder, PLAN) == json.loads(json.dumps(kept["view"]))
    assert not (folder / OWN / BESIDE).exists()
    gone = client.post("/a/glider/onward/take", json={})
    assert (gone.status_code, gone.json()["message"]) == (422, say("onward_gone"))


def test_without_room_the_plan_of_before_holds_on(
    page: tuple[TestClient, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Results and what the sheets show stay those of one plan; it can be taken when there is room."""
    client, folder = page
    before, shown_before = (folder / RESULTS / "plan.json").read_bytes(), read_record(folder, PLAN)
    waiting(folder)

    def full(*_: Any) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as at_the_limit:
        at_the_limit.setattr(workspace.os, "fsync", full)
        answer = client.post("/a/glider/onward/take", json={})
    assert (answer.status_code, answer.json()["message"]) == (422, say("disk_full"))
    assert (folder / RESULTS / "plan.json").read_bytes() == before
    assert read_record(folder, PLAN) == shown_before
    assert client.post("/a/glider/onward/take", json={}).status_code == 200


def test_refusing_leaves_the_plan_of_before(page: tuple[TestClient, Path]) -> None:
    """And nothing of the other one."""
    client, folder = page
    before = (folder / RESULTS / "plan.json").read_bytes()
    waiting(folder)
    assert client.delete("/a/glider/onward").status_code == 200
    assert (folder / RESULTS / "plan.json").read_bytes() == before
    assert read_record(folder, ONWARD) is None
    assert not (folder / OWN / BESIDE).exists()


@pytest.mark.parametrize("how", ["fact", "plan"])
def test_one_that_facts_or_plans_overtook_is_not_taken(page: tuple[TestClient, Path], how: str) -> None:
    """It would not know of them."""
    client, folder = page
    waiting(folder, **({"base": "another plan"} if how == "plan" else {}))
    if how == "fact":
        fact(client, "bed 1", "done")
    tree = shown(client)
    assert len(tree.xpath("//button[@id='onward-take' and @disabled]")) == 1
    answer = client.post("/a/glider/onward/take", json={})
    assert (answer.status_code, answer.json()["message"]) == (422, say("onward_old"))
    assert len(read_record(folder, PLAN) or {}) > 0


def test_it_is_begun_with_the_moment_that_is_asked_for(
    desk: Desk, page: tuple[TestClient, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not with the start that the first plan was asked for; not while another plan is made."""
    client, folder = page
    begun: list[Any] = []
    monkeypatch.setattr(
        type(desk.runs), "start", lambda self, *given, **more: begun.append((given, more)) or True
    )
    waiting(folder)
    assert client.post("/a/glider/onward", json={"start": "2026-12-02T08:00"}).status_code == 200
    assert begun[0][0][2]["start"] == "2026-12-02T08:00"
    assert begun[0][1] == {"onward": True, "by_files": False}
    assert read_record(folder, ONWARD) is None
    client.post("/a/glider/onward", json={})
    assert begun[1][0][2]["start"] is None
    monkeypatch.setattr(type(desk.runs), "busy", lambda self, name: name == "glider")
    for address in ("/a/glider/onward", "/a/glider/onward/take"):
        assert client.post(address, json={}).json()["message"] == say("onward_busy")
    shutil.rmtree(folder / RESULTS)
    monkeypatch.setattr(type(desk.runs), "busy", lambda self, name: False)
    assert client.post("/a/glider/onward", json={}).json()["message"] == say("no_plan_sheet")
    assert gone_on("glider") != "glider"
    assert client.get("/a/glider/onward").json() == {"state": "none"}


def test_measures_that_an_older_plan_lacks_are_dashes() -> None:
    """Nothing is made up."""
    assert [written("total_g", {"total_g": 12.345}), written("print_h", {"print_h": 1.0})] == [
        "12.3 g",
        "1.0 h",
    ]
    assert (written("beds", {"beds": 5}), written("cost", {})) == ("5", NONE)
    assert changes_of(None, "", 0) is None
    told = {"shown": {"rows": []}, "base": "a", "facts": 3}
    assert changes_of(told, "a", 3) == {"rows": [], "old": False, "lines": []}
    assert changes_of(told, "a", 4) == {"rows": [], "old": True, "lines": []}


def test_the_view_tells_what_runs_how(desk: Desk) -> None:
    """By a fact, by the plan alone, or late."""
    place = ledger.place_for(desk.workspace.folder("glider"))
    record(place, Told(("bed 1", "began")), START + timedelta(hours=1))
    hows = {bed["bed"]: bed["how"] for bed in today_view(place, AT, datetime.now(UTC))["found"]["beds"]}
    assert hows["bed 1"] == "told"
    assert hows["bed 2"] == "planned"
    late = today_view(place, "2026-12-30T10:00", datetime.now(UTC))["found"]["beds"]
    assert {bed["how"] for bed in late} == {"late"}
    assert routes.TODAY_ROUTES


def test_beds_that_should_be_over_are_asked_for_first(page: tuple[TestClient, Path]) -> None:
    """Before the steps of the visit, which cannot be told without; those that run come after."""
    client, _ = page
    fact(client, "bed 1", "began", at="2026-12-01T18:40")
    tree = shown(client, "2026-12-02T09:00")
    heads = [head.text_content() for head in tree.xpath("//*[@id='today']//h2")]
    assert heads.index(say("today_say")) < heads.index(say("today_next")) < heads.index(say("today_beds"))
    late = tree.xpath("//section[@aria-labelledby='late-head']//article/@id")
    assert late == ["now-bed-1"]
    assert tree.xpath("//section[@aria-labelledby='beds-head']/article/@id") == ["now-bed-2"]
    heads = [head.text_content() for head in shown(client, "2026-12-01T19:00").xpath("//*[@id='today']//h2")]
    assert say("today_say") not in heads


def test_planning_anew_is_offered_where_there_is_a_ledger(
    desk: Desk, page: tuple[TestClient, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """And asked for with the press of the button alone, never kept."""
    client, folder = page
    (folder / OWN / PLAN).unlink()  # what it shows of a plan does not matter here
    begun: list[Any] = []
    monkeypatch.setattr(type(desk.runs), "start", lambda self, *given: begun.append(given[2]) or True)
    assert html.fromstring(client.get("/a/glider/plan").text).xpath("//input[@name='anew']") == []
    fact(client, "bed 1", "done")
    assert len(html.fromstring(client.get("/a/glider/plan").text).xpath("//input[@name='anew']")) == 1
    for given in ({"anew": True}, {}):
        client.post("/a/glider/run", json={"effort": "quick", **given})
    assert [settings["anew"] for settings in begun] == [True, False]
