"""A raw kit in a browser: dropped, confirmed, changed by hand; record and balance say so."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Running, drop, until
from tests.browser.test_access import findings
from tests.kits.raw import raw_kit, write

pytestmark = [pytest.mark.slow, pytest.mark.browser]

SHOP = """currency = "EUR"
[[printer]]
name = "desk"
like = "desktop 220"
"""
TAIL_PLANE = "[...document.querySelectorAll('#kit-rows input')].some((one) => one.value === 'tail plane')"
NO_SCROLL = "document.documentElement.scrollWidth <= innerWidth"


def small_raw_kit(folder: Path) -> Path:
    """Twelve files or so without a record: wing, fuselage, tail, two noses, a rib and its later version."""
    kit = raw_kit(3, "en")
    ribs = [part for part in kit if part.file.startswith("rib")]
    kept = tuple(part for part in kit if part not in ribs or part.unwanted or "_v2" in part.file)
    write(tuple(part for part in kept if "_4_" not in part.file), folder)
    (folder / "workshop.toml").write_text(SHOP, encoding="utf-8")
    return folder


def record(served: Running) -> dict[str, Any]:
    """The airframe file as it is on disk."""
    return tomllib.loads(text_of(served))


def text_of(served: Running) -> str:
    """Its text."""
    return (served.workspace / "loose" / "airframe.toml").read_text(encoding="utf-8")


def rows(served: Running) -> dict[str, dict[str, Any]]:
    """The rows of the parts by mesh."""
    return {row["mesh"]: row for row in record(served)["part"]}


def test_a_raw_kit_is_confirmed_changed_and_balanced(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """Without a line of TOML: cards by a press, two parts at once, a battery dragged and moved by keys."""
    page = open_tab()
    drop(page, [small_raw_kit(tmp_path / "loose")])
    page.wait_for_url("**/a/loose/kit")
    page.wait_for_selector(".kit .part")
    page.wait_for_selector("#kit-canvas[data-pieces]")
    parts = page.locator(".kit .part").count()
    assert 10 <= parts <= 18
    assert "2 proposals to confirm" in page.inner_text("#cards-head")
    assert findings(page) == []

    # one by one: which nose, and where the fuselage begins
    page.click("#kit-cards button:has-text('Build plain')")
    until(page, "document.querySelector('#cards-head').textContent.startsWith('1 proposal')")
    assert record(served)["options"] == {"nose": "plain"}
    page.fill("#start-1", "-60")
    page.press("#start-1", "Enter")
    until(page, "document.querySelector('#cards-head').textContent === 'Nothing is asked'")
    assert {row["name"]: row["start_mm"] for row in record(served)["stack"]} == {"wing": 0.0, "fuselage": -60}
    until(page, "Number(document.querySelector('#kit-canvas').dataset.pieces) >= 8")

    # two parts at once
    before = text_of(served)
    for name in ("stab left", "stab right"):
        page.check(f"input[data-choose='{name}']")
    assert page.inner_text("#many-count") == "2 parts chosen"
    page.fill("#many-section", "tail plane")
    page.fill("#many-station", "420")
    page.click("#many-set")
    until(page, TAIL_PLANE)
    for mesh in ("stab_left.stl", "stab_right.stl"):
        assert (rows(served)[mesh]["section"], rows(served)[mesh]["station_mm"]) == ("tail plane", 420)
    assert page.input_value("#many-section") == ""
    page.click("#undo")
    until(page, f"!{TAIL_PLANE}")
    assert text_of(served) == before
    assert page.is_checked("input[data-choose='stab left']")

    # a battery: named, dragged, moved by keys, taken back
    page.fill("#new-fitting", "battery")
    page.fill("#new-fitting-mass", "95")
    page.press("#new-fitting-mass", "Enter")
    page.wait_for_selector("#balloon-0")
    # well above the strip at the foot
    page.evaluate("document.querySelector('#balloon-0').scrollIntoView({ block: 'center' })")
    place, side = page.locator("#balloon-0 .ring").bounding_box(), page.locator("#side-view").bounding_box()
    page.mouse.move(place["x"] + 5, place["y"] + 5)
    page.mouse.down()
    page.mouse.move(side["x"] + side["width"] / 2, place["y"], steps=4)
    page.mouse.up()
    until(page, "document.querySelector('#f0-station').value !== ''")
    dragged = record(served)["fitting"][0]["station_mm"]
    left, scale = (float(page.get_attribute("#side-view", f"data-{key}")) for key in ("left", "scale"))
    assert float(page.input_value("#f0-station")) == dragged
    assert left < dragged < left + 720.0 / scale
    page.focus("#balloon-0")
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("Shift+ArrowLeft")
    until(page, f"Number(document.querySelector('#f0-station').value) === {dragged - 11}")
    assert record(served)["fitting"] == [{"name": "battery", "mass_g": 95, "station_mm": dragged - 11}]
    until(page, "/mm aft of the datum/.test(document.querySelector('#kit-balance:not(.old)')?.textContent)")
    assert "g" in page.inner_text("#kit-told")

    page.set_viewport_size({"width": 390, "height": 844})
    assert page.evaluate(NO_SCROLL)
    until(page, KEPT_FREE)
    assert findings(page) == []
    page.emulate_media(color_scheme="dark")
    assert findings(page) == []


def test_parts_are_chosen_in_the_scene_and_the_sheet_is_worked_by_keys(
    open_tab: Any, served: Running
) -> None:
    """A press in the picture ticks a row; every field of a row is reached by Tab and told by its name."""
    page = open_tab("/a/loose/kit")
    page.wait_for_selector("#kit-canvas[data-pieces]")
    frame = page.locator("#kit-canvas").bounding_box()
    page.wait_for_timeout(300)
    for share in (0.5, 0.45, 0.55, 0.4, 0.6, 0.35):
        page.mouse.click(frame["x"] + frame["width"] * share, frame["y"] + frame["height"] * 0.5)
        if page.locator("[data-choose]:checked").count():
            break
    assert page.locator("[data-choose]:checked").count() == 1
    assert page.inner_text("#many-count") == "1 part chosen"
    page.locator(".kit .part").first.locator("[data-choose]").focus()
    reached = []
    for _ in range(6):
        page.keyboard.press("Tab")
        reached.append(page.evaluate("document.activeElement.labels[0].querySelector('span').textContent"))
    assert reached == ["section", "row", "place in it", "station, mm", "hand", "print"]


def test_nothing_is_put_in_place_under_a_pressed_finger(open_tab: Any, served: Running) -> None:
    """A row that moves between press and release would lose the press; once let go, the sheet is renewed."""
    page = open_tab("/a/loose/kit")
    page.wait_for_selector("#kit-canvas[data-pieces]")
    box = page.locator(".kit .part").nth(1).locator("[data-choose]")
    box.scroll_into_view_if_needed()
    place = box.bounding_box()
    page.mouse.move(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    page.mouse.down()
    page.evaluate(RENEWED)
    page.wait_for_timeout(700)
    assert page.evaluate("document.querySelector('.kit .part h3').textContent") == "older words"
    page.mouse.up()
    until(page, "document.querySelector('.kit .part h3').textContent !== 'older words'")
    assert box.is_checked()


RENEWED = """() => {
  document.querySelector('.kit .part h3').textContent = 'older words';
  import('/static/live.js').then((live) => live.refresh());
}"""
KEPT_FREE = (
    "parseFloat(getComputedStyle(document.documentElement).scrollPaddingBottom)"
    " === document.getElementById('strip').offsetHeight"
)
