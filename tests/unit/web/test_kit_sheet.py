"""The sheet Kit as it is served: cards, side view, list and scene of a raw kit, with names escaped."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from lxml import html

from planner.web.desk import Desk
from planner.web.state import read_state
from planner.web.views.kit_rows import frame_shown, kit_rows, seated_pieces
from tests.builders import box, stl_bytes
from tests.kits import shapes
from tests.unit.web.kit_desk import asked, change, copied, kit_on, looked, small_kit, text_of, write_kit
from tests.unit.web.page_desk import client_of, desk_at

EVIL = "<img src=x onerror=alert(1)>"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A raw kit that was looked at."""
    return kit_on(desk_at(tmp_path_factory.mktemp("made")))


@pytest.fixture
def kit(tmp_path: Path, made: Path) -> tuple[Desk, Path]:
    """A raw kit on a desk."""
    desk = desk_at(tmp_path)
    return desk, copied(desk, made)


def sheet(desk: Desk, folder: Path) -> Any:
    """The sheet as the browser gets it."""
    answer = client_of(desk).get(f"/a/{folder.name}/kit")
    assert answer.status_code == 200
    return html.fromstring(answer.text)


def scene(desk: Desk, folder: Path) -> dict[str, Any]:
    """What stands where in 3D."""
    told: dict[str, Any] = client_of(desk).get(f"/a/{folder.name}/kit/scene").json()
    return told


def put_together(folder: Path) -> None:
    """The two segments of the fuselage, from 20 mm aft of the datum on."""
    (card,) = [one for one in asked(folder) if one.start_of]
    given = card.buttons[0].given
    change(folder, "answer", **{**given, "stacks": [{**given["stacks"][0], "start_mm": 20}]})


def test_every_card_is_shown_with_reason_and_confidence(kit: tuple[Desk, Path]) -> None:
    """Buttons carry the edit that they make; what needs a number is a form."""
    desk, folder = kit
    page = sheet(desk, folder)
    assert page.xpath("string(//h2[@id='cards-head'])") == "3 proposals to confirm"
    heads = page.xpath("//li[@class='ask']/h3/text()")
    assert heads == [card.title for card in asked(folder)]
    text = page.xpath("string(//ul[@class='asks'])")
    assert "a jig does not fly" in text
    assert "70 % sure" in text
    for button in page.xpath("//div[@id='kit-cards']//button[@data-do]"):
        assert button.get("data-do") == "answer"
        assert set(json.loads(button.get("data-given"))) <= {"take", "leave", "options", "stacks", "head"}
    (form,) = page.xpath("//form[@data-form='start']")
    assert form.xpath(".//input/@name") == ["start_mm"]
    accept = page.xpath("//button[@id='take-all']")[0]
    assert accept.text == "Accept the 2 that need no number"
    change(folder, "answer", **json.loads(accept.get("data-given")))
    assert sheet(desk, folder).xpath("string(//h2[@id='cards-head'])") == "1 proposal to confirm"


def test_the_list_has_a_field_for_what_each_part_is(kit: tuple[Desk, Path]) -> None:
    """Every field is named, every row can be chosen, and what is left out comes last in its section."""
    desk, folder = kit
    page = sheet(desk, folder)
    assert page.xpath("//input/@data-choose")[-3:] == ["rib 1 v2", "rib 1", "drilling jig"]
    for row in page.xpath("//div[@id='kit-rows']//li"):
        keys = [json.loads(one)["key"] for one in row.xpath(".//@data-given")]
        assert keys == ["section", "stack", "order", "station_mm", "hand", "printed"]
        assert all(label.xpath("string(span)") for label in row.xpath(".//label"))
    facts = page.xpath("//dl[@id='kit-told']//dd/text()")
    assert facts[:3] == ["7", "1", "5"]  # parts, not printed, without a place (one nose is not chosen)
    ids = page.xpath("//@id")
    assert len(ids) == len(set(ids))


def test_what_follows_one_another_is_put_together_in_the_scene(kit: tuple[Desk, Path]) -> None:
    """Without a plan: the second segment begins where the first one ends; the rest stands in rows."""
    desk, folder = kit
    assert scene(desk, folder)["pieces"] == []
    put_together(folder)
    told = scene(desk, folder)
    assert [piece["part"] for piece in told["pieces"]] == ["fuselage 1", "fuselage 2"]
    first, second = told["pieces"]
    along = np.array(first["turn"]).reshape(3, 3) @ [0.0, 0.0, 1.0]
    assert along.tolist() == pytest.approx([1.0, 0.0, 0.0])
    assert second["shift"][0] - first["shift"][0] == pytest.approx(100.0)
    assert {row["part"] for (row,) in told["loose"]} == {"nose camera", "rib 1 v2", "drilling jig"}
    page = sheet(desk, folder)
    assert page.xpath("string(//dd[@id='kit-loose'])") == "3"
    assert page.xpath("//div[@id='kit-stacks']//legend/text()") == ["fuselage"]
    assert page.xpath("string(//input[@id='k1-start_mm']/@value)") == "20"


def test_loose_parts_that_fit_one_another_are_shown_together(kit: tuple[Desk, Path]) -> None:
    """However they lie: the rows that were found seat them; what is left out is not there."""
    desk, folder = kit
    kept = folder / ".page" / "kit.json"
    turn = [0.0, 1.0, 0.0, -1.0, 0.0, 0.0, 0.0, 0.0, 1.0]
    row = [
        [mesh, turn, [1.0, 2.0, 3.0]]
        for mesh in ("fuselage_1.stl", "rib_1.stl", "fuselage_2.stl", "gone.stl")
    ]
    kept.write_text(json.dumps({**json.loads(kept.read_text(encoding="utf-8")), "rows": [row, row[1:2]]}))
    groups = scene(desk, folder)["loose"]
    assert [piece["part"] for piece in groups[0]] == ["fuselage 1", "fuselage 2"]
    assert (groups[0][0]["turn"], groups[0][0]["shift"]) == (turn, [1.0, 2.0, 3.0])
    assert sorted(len(group) for group in groups) == [1, 1, 1, 2]
    put_together(folder)
    assert [len(group) for group in scene(desk, folder)["loose"]] == [1, 1, 1]


def test_the_side_view_has_a_balloon_for_each_fitting(kit: tuple[Desk, Path]) -> None:
    """Those with a station stand over it, the others wait under the drawing; each is worked by keys, too."""
    desk, folder = kit
    put_together(folder)
    change(folder, "add_fitting", values={"name": "battery", "mass_g": 90})
    change(folder, "add_fitting", values={"name": "servo", "mass_g": 9, "station_mm": 120})
    page = sheet(desk, folder)
    (drawing,) = page.xpath("//*[@id='side-view']")
    assert len(drawing.xpath(".//path[@fill]/title")) >= 2
    battery, servo = drawing.xpath(".//g[@class='balloon']")
    assert [one.get("role") for one in (battery, servo)] == ["slider", "slider"]
    assert [one.get("tabindex") for one in (battery, servo)] == ["0", "0"]
    assert (battery.get("data-station"), servo.get("data-station")) == ("", "120.0")
    assert battery.get("aria-valuetext") == "no station yet"
    left, scale = float(drawing.get("data-left")), float(drawing.get("data-scale"))
    at = float(servo.get("transform").removeprefix("translate(").split()[0])
    assert at / scale + left == pytest.approx(120.0, abs=0.2)
    fields = page.xpath("//input[@data-do='fitting']/@id")
    assert fields == [f"f{n}-{key}" for n in (0, 1) for key in ("station", "up", "across")]


def test_a_kit_without_a_record_opens_on_the_sheet_kit(tmp_path: Path) -> None:
    """One that brings its airframe file opens on the parts, as ever."""
    client = client_of(desk_at(tmp_path))
    mesh = stl_bytes(box(20.0, 10.0, 5.0))
    opened = []
    for name, record in (("raw", None), ("told", b'[airframe]\nname = "told"\n')):
        key = client.post("/drop", json={}).json()["key"]
        client.put(f"/drop/{key}?path={name}/a.stl", content=mesh)
        if record is not None:
            client.put(f"/drop/{key}?path={name}/airframe.toml", content=record)
        opened.append(client.post(f"/drop/{key}/done", json={"name": name}).json().get("sheet"))
    assert opened == ["/kit", None]


def test_the_parts_sheet_says_that_something_is_asked(kit: tuple[Desk, Path]) -> None:
    """With the way there; nothing of it once all is answered."""
    desk, folder = kit
    client = client_of(desk)
    page = html.fromstring(client.get("/a/kit").text)
    (notice,) = page.xpath("//div[@id='kit-asks']")
    assert notice.xpath("string(p)").startswith("3 proposals about this kit wait")
    assert notice.xpath(".//a/@href") == ["/a/kit/kit"]
    for card in asked(folder):
        change(folder, "answer", **card.buttons[-1].given)
    assert html.fromstring(client.get("/a/kit").text).xpath("//div[@id='kit-asks']") == []


def test_a_kit_of_which_nothing_could_be_read_says_so(tmp_path: Path) -> None:
    """No name and no shape that tells anything: nothing is asked, and the sheet says what to do instead."""
    desk = desk_at(tmp_path)
    blocks = {f"{n}.stl": shapes.block(20.0 + n, 31.0 + n, 12.0 + n) for n in range(3)}
    page = sheet(desk, kit_on(desk, blocks))
    assert page.xpath("string(//h2[@id='cards-head'])").startswith("Names and shapes told nothing")
    assert "No part has a place yet" in page.xpath("string(//div[@id='kit-facts'])")
    assert page.xpath("//input[@data-choose]")


def test_names_from_files_are_shown_and_never_obeyed(tmp_path: Path) -> None:
    """Part, section, stack, option, fitting and reason with markup in them."""
    desk = desk_at(tmp_path)
    folder = write_kit(desk.workspace.root / "evil", {"a.stl": small_kit()["rib_1.stl"]})
    quoted = json.dumps(EVIL)
    (folder / "airframe.toml").write_text(
        f'[[part]]\nmesh = "a.stl"\nname = {quoted}\nsection = {quoted}\n'
        f"stack = {{name = {quoted}, order = 1}}\noption = {{{quoted} = {quoted}}}\n"
        f"[[stack]]\nname = {quoted}\n[[fitting]]\nname = {quoted}\nmass_g = 1\nstation_mm = 5\n",
        encoding="utf-8",
    )
    looked(folder)
    (folder / ".page" / "kit.json").write_text(
        json.dumps({"proposals": [["a.stl", "recipe", EVIL, EVIL, 0.5]], "stacks": [], "ends": {}})
    )
    page = sheet(desk, folder)
    assert page.xpath("//img[@onerror]") == []
    assert page.xpath("string(//div[@id='kit-rows']//h3)") == EVIL
    assert EVIL in page.xpath("string(//li[@class='ask'])")
    assert page.xpath("//*[@role='slider']/@aria-label") == [EVIL]


def test_a_folder_looked_at_by_an_earlier_page_asks_nothing(kit: tuple[Desk, Path]) -> None:
    """It kept nothing about the kit; rows and side view are there all the same."""
    desk, folder = kit
    (folder / ".page" / "kit.json").unlink()
    page = sheet(desk, folder)
    assert page.xpath("string(//h2[@id='cards-head'])") == "Nothing is asked"
    assert len(page.xpath("//div[@id='kit-rows']//li")) == 7
    (folder / "airframe.toml").write_text("[airframe\n", encoding="utf-8")
    page = sheet(desk, folder)
    assert page.xpath("//div[@id='kit-rows']//li") == []
    assert "cannot be read" in page.xpath("string(//div[@id='record-notice'])")
    assert scene(desk, folder) == {"pieces": [], "loose": []}


def test_meshes_that_seem_to_be_drawn_in_place_are_shown_there(kit: tuple[Desk, Path]) -> None:
    """As long as nobody says otherwise, and the way they seem to lie."""
    _, folder = kit
    placed = {"axes": {"aft": "y", "up": "z"}, "why": "", "sure": True, "lies": ""}
    state = read_state(folder)
    pieces = seated_pieces(state, placed)
    assert len(pieces) == 5  # every part but the nose that is not chosen and the rib that is left out
    assert np.array(pieces[0].turn).reshape(3, 3)[0].tolist() == [0.0, 1.0, 0.0]
    assert all(row.seated for row in kit_rows(state, {p.part for p in pieces}) if row.printed and row.chosen)
    change(folder, "answer", head={"in_assembly_position": False})
    state = read_state(folder)
    assert seated_pieces(state, placed) == []
    frame = frame_shown(state, placed)
    assert frame is not None
    assert frame.in_assembly_position is False
    assert "in_assembly_position = false" in text_of(folder)
