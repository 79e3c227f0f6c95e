"""The sheet Machine files by its routes: what is dropped, read, shown, refused, and taken with a plan."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html
from starlette.testclient import TestClient

from planner.errors import InputError
from planner.ledger.fact import READ_BACK
from planner.ledger.store import Ledger
from planner.report.exports.plan_json import plan_json
from planner.web import moves
from planner.web.desk import Desk
from planner.web.jobs import moves_work, worker
from planner.web.jobs.moves_work import offered_ledger, read_waiting
from planner.web.jobs.runs import Runs, moves_read
from planner.web.ledger import place_for
from planner.web.routes import moves as routes
from planner.web.routes.drop import DropLimits
from planner.web.views import onward_view
from planner.web.views.onward_view import onward_record
from planner.web.views.plan_stamp import ONWARD, PLAN
from planner.web.views.today_view import facts_told
from planner.web.words import say
from planner.web.workspace import BESIDE, OWN, RESULTS, write_record
from planner.web.workspace import read_record as kept_of
from tests.machine_files.beds import file_of
from tests.machine_files.writer import Style
from tests.plan_samples import sample_plan
from tests.sample_workshop import sample_workshop
from tests.unit.api.test_reading_back import WORKSHOP
from tests.unit.web.page_desk import airframe_in, client_of, desk_at
from tests.unit.web.test_today import KEPT, view_of
from tests.unit.web.test_today import LATER as NOW

PLAN_MADE = sample_plan()
BATCHES = {batch.name: batch for batch in PLAN_MADE.batches}
ODD = "G21\nG5 X1\n"
OTHER = "G21\nG90\nM83\nG0 X5 Y5 Z.2\nG1 X9 E1 F900\nG1 Y9 E1\nG1 X5 E1\nG1 Y5 E1\n"


def lines_of(bed: str, **how: Any) -> str:
    """A file of walls with the grams of a bed."""
    batch = BATCHES[bed]
    filament = sample_workshop().filament(batch.filament)
    style = Style(retract_mm=0.0, temperatures=(filament.nozzle_c, 60.0))
    return file_of(batch, mm3=batch.mass_g * 1000.0 / filament.solid_g_per_cm3, style=style, **how)


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    return {"bed_4.moves": lines_of("bed 4"), "short": lines_of("bed 2", without="hatch")}


@pytest.fixture(name="desk")
def _desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """A glider with the sample plan; nothing begins by itself."""
    monkeypatch.setattr(Runs, "read_moves", lambda self, name, folder: True)
    monkeypatch.setattr(worker, "alone", lambda: None)
    monkeypatch.setattr(onward_view, "plan_view", view_of)
    monkeypatch.setattr(onward_view, "card", lambda plan: {"title": plan.airframe.name})
    desk = desk_at(tmp_path, DropLimits(file_bytes=3_000_000))
    folder = airframe_in(desk)
    (folder / "workshop.toml").write_text(WORKSHOP, encoding="utf-8")
    (folder / RESULTS).mkdir()
    (folder / RESULTS / "plan.json").write_text(plan_json(PLAN_MADE), encoding="utf-8")
    (folder / RESULTS / "written.json").write_text('["plan.json"]', encoding="utf-8")
    write_record(folder, PLAN, KEPT)
    return desk


@pytest.fixture(name="folder")
def _folder(desk: Desk) -> Path:
    return desk.workspace.folder("glider")


def send(client: TestClient, files: dict[str, str | bytes]) -> list[int]:
    """Drop machine files; the status of each, and of the end."""
    key = client.post("/drop", json={"moves": True}).json()["key"]
    told = [
        client.put(f"/drop/{key}", params={"path": path}, content=body).status_code
        for path, body in files.items()
    ]
    return [*told, client.post("/a/glider/moves", json={"drop": key}).status_code]


def shown(client: TestClient) -> Any:
    return html.fromstring(client.get("/a/glider/moves").text)


def read_all(folder: Path) -> list[dict[str, Any]]:
    read_waiting(folder, lambda stage, done, total: None)
    return list(moves.read_files(folder)["files"])


@pytest.mark.slow
def test_files_of_any_name_are_read_one_by_one(desk: Desk, folder: Path, texts: dict[str, str]) -> None:
    """Beds, faults, refusals and strangers are told; nothing of a file itself is kept."""
    client = client_of(desk)
    files = {**texts, "sub/odd.zip": ODD, "ledger.sqlite": OTHER, "bad": b"\x1f\x8bpacked"}
    assert send(client, files) == [200] * 6
    assert len(moves.waiting(folder)) == 5
    rows = {row["file"]: row for row in read_all(folder)}
    assert moves.waiting(folder) == []
    assert {name: row["bed"] for name, row in rows.items()} == {
        "bed_4.moves": "bed 4", "short": "bed 2", "odd.zip": None, "ledger.sqlite": None, "bad": None,
    }  # fmt: skip
    assert rows["odd.zip"]["refused"].startswith("odd.zip: line 2 (G5 X1): G5 is no G word that is read.")
    assert rows["bad"]["refused"].startswith("bad: line 1: it is packed, and no text.")
    assert "hatch is missing" in rows["short"]["faults"]
    record = moves.read_files(folder)
    assert set(record["unread"]) == set(BATCHES) - {"bed 4", "bed 2"}
    text = shown(client).xpath("//div[@id='moves']")[0].text_content()
    for words in (
        "bed 4 on small",
        "hatch is missing",
        "G5 is no G word",
        say("moves_no_bed"),
        "Not read yet",
    ):
        assert words in text
    kept = {path.name.partition(".")[2] for path in moves.moves_folder(folder).iterdir() if path.is_file()}
    assert kept == {"bin", "json"}


@pytest.mark.slow
def test_a_file_of_the_same_name_takes_its_place_and_two_of_a_bed_are_told(
    desk: Desk, folder: Path, texts: dict[str, str]
) -> None:
    """Its layers go with it; forgetting one leaves the others."""
    client = client_of(desk)
    for name in ("a", "a", "b"):
        send(client, {name: texts["bed_4.moves"]})
        rows = read_all(folder)
    assert [row["file"] for row in rows] == ["a", "b"]
    assert [row["bed"] for row in rows] == ["bed 4", "bed 4"]
    assert moves.read_files(folder)["faults"] == ["bed 4 is printed by 2 files: a, b"]
    assert len(list(moves.moves_folder(folder).glob("*.bin"))) == 2
    assert client.delete(f"/a/glider/moves/{rows[0]['key']}").status_code == 200
    assert len(list(moves.moves_folder(folder).glob("*.bin"))) == 1
    assert client.delete(f"/a/glider/moves/{rows[0]['key']}").status_code == 404
    assert client.delete("/a/glider/moves").status_code == 200
    assert moves.read_files(folder) == moves.EMPTY


@pytest.mark.slow
def test_layers_are_handed_out_by_their_beads(desk: Desk, folder: Path, texts: dict[str, str]) -> None:
    """As many as are asked for, up to a limit; the outlines lie where the file has the bed."""
    client = client_of(desk)
    send(client, {"bed 4": lines_of("bed 4", shift=(10.0, 6.0))})
    (row,) = read_all(folder)
    at = f"/a/glider/moves/{row['key']}"
    told = client.get(f"{at}/layers").json()
    assert sum(told["beads"]) == row["beads"] > 0
    assert told["height_mm"] == sorted(told["height_mm"])
    low = np.min([point for piece in told["pieces"] for point in piece["ring"]], axis=0)
    planned = np.min([point for one in BATCHES["bed 4"].placed for point in one.outline_mm], axis=0)
    assert low - planned == pytest.approx([10.0, 6.0], abs=1.6)  # as far as shadows tell a shift
    body = client.get(f"{at}/beads", params={"from": 2, "count": 3}).content
    assert len(body) == 3 * routes.BEAD_BYTES
    whole = client.get(f"{at}/beads", params={"from": 0, "count": 10**9}).content
    assert whole[2 * 8 : 5 * 8] == body
    assert len(whole) == 8 * row["beads"]
    for odd in ({"from": "-1", "count": "2"}, {"from": "x", "count": "2"}, {"count": "9" * 13, "from": "0"}):
        assert client.get(f"{at}/beads", params=odd).status_code == 422
    for key in ("..", "%2e%2e", "nothing", "a/b"):
        assert client.get(f"/a/glider/moves/{key}/layers").status_code == 404


def test_what_is_too_large_or_leads_out_is_refused_and_names_are_never_obeyed(
    desk: Desk, folder: Path
) -> None:
    """The guards of every drop."""
    client = client_of(desk)
    assert send(client, {"large": "G1\n" * 1_100_000, "../out": ODD})[:2] == [422, 422]
    assert moves.waiting(folder) == []
    assert send(client, {})[-1] == 422
    send(client, {"<img src=x>": ODD})
    read_all(folder)
    assert "<img" not in client.get("/a/glider/moves").text
    for address in ("/a/glider/moves", "/a/glider/moves/aa/layers"):
        assert client_of(desk, signed_in=False).get(address).status_code == 403
    evil = {"origin": "http://evil.example"}
    assert client.post("/a/glider/moves", json={"drop": "x"}, headers=evil).status_code == 403
    assert client.post("/a/glider/moves", json={"drop": "x"}).status_code == 404
    (folder / RESULTS / "plan.json").unlink()
    assert client.post("/a/glider/moves", json={"drop": "x"}).json()["message"] == say("no_plan_sheet")


@pytest.mark.slow
def test_progress_tells_what_waits_and_another_plan_forgets(
    desk: Desk, folder: Path, texts: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """What came while the reading ended is begun; figures against another plan are told as such."""
    client, begun = client_of(desk), []
    monkeypatch.setattr(Runs, "read_moves", lambda self, name, folder: begun.append(name) or True)
    send(client, {"a": texts["bed_4.moves"]})
    assert client.get("/a/glider/moves/reading").json() == {"state": "none", "waiting": 1}
    assert begun == ["glider", "glider"]
    read_all(folder)
    assert client.get("/a/glider/moves/reading").json()["waiting"] == 0
    assert shown(client).xpath("//button[@id='go-on']/@data-off") == ["no"]
    write_record(folder, PLAN, {**KEPT, "made": "later"})
    tree = shown(client)
    assert tree.xpath("//p[@id='moves-old']")
    assert tree.xpath("//button[@id='go-on']/@data-off") == ["yes"]
    send(client, {"b": OTHER})
    assert [row["file"] for row in read_all(folder)] == ["b"]
    assert moves_read("glider") == "glider/moves"


@pytest.mark.slow
def test_the_process_tells_how_far_it_is_and_why_it_failed(
    desk: Desk, folder: Path, texts: dict[str, str]
) -> None:
    """A plan that is damaged fails it all; what waits goes on waiting."""

    class Pipe(list):  # type: ignore[type-arg]
        send = list.append

    send(client_of(desk), {"a": texts["bed_4.moves"]})
    pipe: Any = Pipe()
    (folder / RESULTS / "plan.json").write_text("{}")
    moves_work.read(pipe, None, str(folder))  # type: ignore[arg-type]
    assert pipe[-1][0] == "failed"
    assert len(moves.waiting(folder)) == 1
    (folder / RESULTS / "plan.json").write_text(plan_json(PLAN_MADE), encoding="utf-8")
    moves_work.read(pipe, None, str(folder))  # type: ignore[arg-type]
    assert pipe[-1] == ("done", None)
    assert ("progress", ("a", 0, 1)) in pipe


@pytest.mark.slow
def test_what_would_follow_is_planned_on_a_copy_and_taken_with_it(
    desk: Desk, folder: Path, texts: dict[str, str]
) -> None:
    """The ledger has no fact before; then those that the plan counts, and the files' figures in its words."""
    client = client_of(desk)
    with pytest.raises(InputError, match="no machine file was read"):
        offered_ledger(folder, NOW)
    send(client, texts)
    read_all(folder)
    copied, offered = offered_ledger(folder, NOW)
    assert offered["facts"] == 1
    assert offered["lines"][0].startswith("bed 4 goes by bed_4.moves from the next plan on:")
    assert offered["lines"][1] == "not taken: short, hatch is missing"
    ledger = place_for(folder).file
    assert not ledger.exists()
    with Ledger(copied) as aside:
        assert [fact.about for fact in aside.facts()] == ["bed 4"]
    made = folder / OWN / BESIDE
    made.mkdir(parents=True)
    (made / "plan.json").write_text(plan_json(PLAN_MADE), encoding="utf-8")
    (made / "written.json").write_text('["plan.json"]', encoding="utf-8")
    record = onward_record(PLAN_MADE, kept_of(folder, PLAN), NOW.isoformat(), "r")
    write_record(folder, ONWARD, {**record, "facts": 1, "offered": offered})
    assert facts_told({**record, "facts": 1, "offered": offered}) == 0
    tree = shown(client)
    assert tree.xpath("//button[@id='onward-take' and not(@disabled)]")
    assert "goes by bed_4.moves" in tree.xpath("//div[@id='answers']")[0].text_content()
    assert client.post("/a/glider/onward/take", json={}).status_code == 200
    with Ledger(ledger) as facts:
        (fact,) = facts.facts()
        assert (fact.kind, fact.about, fact.who, fact.seq) == (READ_BACK, "bed 4", "page", 1)
        with Ledger(copied) as aside:
            assert next(iter(aside.facts())).uid == fact.uid


def test_a_fact_that_came_between_is_not_overlooked(desk: Desk, folder: Path) -> None:
    """The plan would not know of it: neither plan nor files are taken."""
    client = client_of(desk)
    (folder / OWN / BESIDE).mkdir(parents=True)
    record = onward_record(PLAN_MADE, kept_of(folder, PLAN), NOW.isoformat(), "r")
    offered = {"rows": [], "at": NOW.isoformat(), "facts": 1, "lines": []}
    write_record(folder, ONWARD, {**record, "facts": 1, "offered": offered})
    client.post("/a/glider/fact", json={"uid": "phone-001", "words": ["bed 1", "done"]})
    assert client.post("/a/glider/onward/take", json={}).json()["message"] == say("onward_old")
