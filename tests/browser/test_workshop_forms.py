"""Absences, dryers, nozzles and wishes of sections by keyboard: refused beside the field, narrow, clean."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Running, drop, until
from tests.browser.test_access import findings
from tests.browser.test_edits import kit

pytestmark = [pytest.mark.slow, pytest.mark.browser]
SHELF = '[[spool]]\nname = "red 1"\nfilament = "PLA"\ngrams_left = 700\ncolour = "red"\n'


@pytest.fixture
def shop(open_tab: Any, served: Running, tmp_path: Path) -> Any:
    """A tab at the workshop of a prepared kit of six ribs."""
    page = open_tab()
    if not (served.workspace / "forms").is_dir():
        folder = kit(tmp_path, "forms", 6)
        with (folder / "workshop.toml").open("a", encoding="utf-8") as file:
            file.write(SHELF)
        drop(page, [folder])
        page.wait_for_url("**/a/forms")
    page.goto(f"{served.base}/a/forms/workshop")
    page.wait_for_selector("#new-away")
    page.wait_for_selector("body[data-ready]")
    return page


def record(served: Running, file: str) -> dict[str, Any]:
    """A record of the kit as it is on disk."""
    return tomllib.loads((served.workspace / "forms" / file).read_text(encoding="utf-8"))


def test_an_absence_by_keyboard(shop: Any, served: Running) -> None:
    """One that ends before it begins is refused beside its first day; mended it stands in the list."""
    shop.select_option("#new-away", "printer/desk two")
    shop.focus("#new-away-from")
    for word in ("2026-12-03", "2026-12-01", "repair"):
        shop.keyboard.type(word)
        shop.keyboard.press("Tab")
    shop.keyboard.press("Enter")  # the button
    shop.wait_for_selector("#new-away-from[aria-invalid]")
    assert "ends before it begins" in shop.inner_text("#new-away-from-wrong")
    assert shop.get_attribute("#new-away-from", "aria-describedby") == "new-away-from-wrong"
    shop.fill("#new-away-until", "2026-12-05 18:00")
    shop.keyboard.press("Enter")
    shop.wait_for_selector("#aways [data-do=remove_away]")
    row = record(served, "workshop.toml")["printer"][1]
    assert [(str(one["from"]), str(one["until"]), one["why"]) for one in row["away"]] == [
        ("2026-12-03", "2026-12-05 18:00:00", "repair")
    ]
    until(shop, "document.getElementById('new-away-from').value === ''")
    assert shop.evaluate("document.getElementById('new-away').selectedIndex") == 0
    shop.focus("#aways [data-do=remove_away]")
    shop.keyboard.press("Enter")
    until(shop, "!document.querySelector('#aways [data-do=remove_away]')")
    until(shop, "document.activeElement.id === 'new-away'")
    assert "away" not in record(served, "workshop.toml")["printer"][1]


def test_days_away_of_a_person_by_keyboard(shop: Any, served: Running) -> None:
    """A long name of signs is a name; days that end before they begin are refused beside it."""
    file = served.workspace / "forms" / "workshop.toml"
    name = "<i>Ann</i> & " + "Wing-Fuselage-" * 3
    with file.open("a", encoding="utf-8") as more:
        more.write(f'[[attendance]]\nfrom = "08:00"\nuntil = "12:00"\nperson = "{name}"\n')
    shop.reload()
    shop.wait_for_selector("body[data-ready]")
    shop.select_option("#new-absence", name)
    shop.focus("#new-absence-from")
    for word in ("2026-12-03", "2026-12-01"):
        shop.keyboard.type(word)
        shop.keyboard.press("Tab")
    shop.keyboard.press("Enter")  # the button
    shop.wait_for_selector("#new-absence-from[aria-invalid]")
    assert "ends before it begins" in shop.inner_text("#new-absence-from-wrong")
    shop.fill("#new-absence-until", "2026-12-05")
    shop.keyboard.press("Enter")
    shop.wait_for_selector("#absences [data-do=remove_absence]")
    (row,) = record(served, "workshop.toml")["absence"]
    assert (str(row["from"]), str(row["until"]), row["person"]) == ("2026-12-03", "2026-12-05", name)
    until(shop, "document.getElementById('new-absence-from').value === ''")
    assert name in shop.inner_text("#absences .row .who")
    assert shop.evaluate("document.getElementById('new-absence').selectedIndex") == 0
    shop.set_viewport_size({"width": 360, "height": 800})
    until(shop, "document.documentElement.scrollWidth <= 360")  # once the week is drawn narrower
    shop.fill("#empty-days", "2026-12-24; Easter")
    shop.press("#empty-days", "Tab")
    shop.wait_for_selector("#empty-days[aria-invalid]")
    shop.fill("#empty-days", "2026-12-24, 2026-12-25")
    shop.press("#empty-days", "Tab")
    until(shop, "document.querySelector('#undo')?.textContent.includes('2026-12-25')")
    assert [str(day) for day in record(served, "workshop.toml")["away"]] == ["2026-12-24", "2026-12-25"]
    assert findings(shop) == []
    shop.focus("#absences [data-do=remove_absence]")
    shop.keyboard.press("Enter")
    until(shop, "document.activeElement.id === 'new-absence'")
    assert "absence" not in record(served, "workshop.toml")


def test_an_airframe_keeps_its_beds_to_itself(shop: Any, served: Running) -> None:
    """A tick less is written; a priority that is none is refused beside it."""
    shop.focus("#top-mix_airframes")
    shop.keyboard.press("Space")
    until(shop, "document.querySelector('#undo')?.textContent.includes('mix airframes')")
    assert record(served, "workshop.toml")["mix_airframes"] is False
    shop.goto(f"{served.base}/a/forms")
    shop.wait_for_selector("body[data-ready]")
    shop.focus("#head-mix")
    shop.keyboard.press("Space")
    shop.fill("#head-priority", "0")
    shop.press("#head-priority", "Tab")
    shop.wait_for_selector("#head-priority[aria-invalid]")
    shop.fill("#head-priority", "2")
    shop.press("#head-priority", "Tab")
    until(shop, "document.querySelector('#undo')?.textContent.includes('priority')")
    head = record(served, "airframe.toml")["airframe"]
    assert (head["mix"], head["priority"]) == (False, 2)


def test_nozzles_stay_open_and_a_list_is_a_list(shop: Any, served: Running) -> None:
    """What a printer has beside is written as a list; its fields stay open when the sheet is made anew."""
    shop.click("#printer_desk_one-more summary")
    shop.fill("#printer_desk_one-nozzles", "0.6, 0.4 hardened")
    shop.press("#printer_desk_one-nozzles", "Tab")
    until(shop, "document.getElementById('printer_desk_one-more').textContent.includes('0.6 mm')")
    assert record(served, "workshop.toml")["printer"][0]["nozzles"] == ["0.6", "0.4 hardened"]
    assert shop.locator("#printer_desk_one-more[open]").count() == 1


def test_dryers_and_narrow_sheets_are_clean(shop: Any, served: Running) -> None:
    """At 360 px with all of it open: nothing wider than the screen, nothing serious by the rules."""
    shop.fill("#dryer-count", "2")
    shop.press("#dryer-count", "Tab")
    shop.wait_for_selector("#dryer-spools")
    shop.set_viewport_size({"width": 360, "height": 800})
    for sheet in ("/workshop", ""):
        shop.goto(f"{served.base}/a/forms{sheet}")
        shop.wait_for_selector("body[data-ready]")
        shop.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
        assert shop.evaluate("document.documentElement.scrollWidth") <= 360
        assert findings(shop) == []


def test_a_section_asks_for_a_colour_and_a_day(shop: Any, served: Running) -> None:
    """Colours of the shelf are proposed; a day that is none is refused beside it."""
    shop.goto(f"{served.base}/a/forms")
    shop.wait_for_selector("body[data-ready]")
    shop.click("#asks summary")
    assert shop.locator("#colours option[value=red]").count() == 1
    shop.fill("#ask1-colour", "red")
    shop.press("#ask1-colour", "Tab")
    shop.keyboard.press("Space")
    shop.fill("#ask1-date", "soon")
    shop.press("#ask1-date", "Tab")
    shop.wait_for_selector("#ask1-date[aria-invalid]")
    shop.fill("#ask1-date", "2026-12-05")
    shop.press("#ask1-date", "Tab")
    until(shop, "document.querySelector('#undo')?.textContent.includes('2026-12-05')")
    head = record(served, "airframe.toml")["airframe"]
    section = next(iter(head["section_colours"]))
    assert (head["section_colours"], head["one_lot"]) == ({section: "red"}, [section])
    assert str(head["section_dates"][section]) == "2026-12-05"


def test_a_plan_is_lived_through_from_the_sheet(shop: Any, served: Running) -> None:
    """A chance without worlds is refused; number and seed are told with the finish and on the timetable."""
    shop.goto(f"{served.base}/a/forms/plan")
    shop.wait_for_selector("body[data-ready]")
    shop.fill("#missed", "0.1")
    shop.select_option("#effort", "quick")
    shop.fill("#start", "2026-12-01T18:00")
    shop.click("#make-plan")
    shop.wait_for_selector("#run-failed:visible")
    assert "in simulated worlds only" in shop.inner_text("#run-failed")
    shop.fill("#worlds", "200")
    shop.click("#make-plan")
    shop.wait_for_selector("#risk-told")
    assert "200 simulated worlds, search number 1, 10 % of visits missed" in shop.inner_text("#risk-told")
    told = shop.inner_text("#risk-told")
    assert "stays as it was made" not in told
    shop.fill("#worlds", "100")
    shop.focus("#live-through")
    shop.keyboard.press("Enter")
    until(shop, "document.getElementById('risk-told').textContent.includes('100 simulated worlds')")
    assert "stays as it was made" in shop.inner_text("#risk-told")
    shop.fill("#worlds", "200")
    shop.click("#live-through")
    until(shop, "document.getElementById('risk-told').textContent.includes('200 simulated worlds')")
    kept = json.loads((served.workspace / "forms" / "plan" / "plan.json").read_text(encoding="utf-8"))
    assert kept["risk"]["worlds"] == 200  # of the plan as it was made: the same numbers
    assert shop.inner_text("#risk-told").startswith(told.split("What may go wrong")[0].strip())
    for field in ("#worlds", "#missed"):
        shop.fill(field, "")
    shop.click("#live-through")
    shop.wait_for_selector("#run-failed:visible")
    assert "in how many simulated worlds is not told" in shop.inner_text("#run-failed")
    shop.set_viewport_size({"width": 360, "height": 800})
    assert shop.evaluate("document.documentElement.scrollWidth") <= 360
    shop.set_viewport_size({"width": 1280, "height": 800})
    shop.click("#risk-told a")
    shop.wait_for_selector("#risk")
    assert "Beds that the finish hangs on" in shop.inner_text("main")
    assert findings(shop) == []


def test_the_week_fits_a_window_that_is_drawn_narrower(shop: Any) -> None:
    """And takes its room again when that is there."""
    wide = "document.querySelector('#grid canvas').getBoundingClientRect().width"
    shop.set_viewport_size({"width": 1280, "height": 800})
    until(shop, f"{wide} === 440")
    shop.set_viewport_size({"width": 360, "height": 740})
    until(shop, f"{wide} < 340 && document.documentElement.scrollWidth <= 360")
    shop.set_viewport_size({"width": 1280, "height": 800})
    until(shop, f"{wide} === 440")
