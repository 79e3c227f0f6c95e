"""The whole job in the browser, on the demo: drop, choose, plan, read, take away."""

from __future__ import annotations

import time
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import DEMO, Running, drop, planned, until
from tests.browser.test_access import SHEETS

pytestmark = [pytest.mark.slow, pytest.mark.browser]

BUSY = 4.0  # factor by which other work may slow this machine


@pytest.fixture
def demo(open_tab: Any, served: Running) -> Any:
    """A tab at the parts of the demo, which is dropped once and planned once."""
    page = open_tab()
    if not (served.workspace / "demo_meshes" / ".page" / "plan.json").is_file():
        began = time.monotonic()
        drop(page, [DEMO])
        page.wait_for_url("**/a/demo_meshes")
        page.wait_for_selector(".part")
        planned(page, "normal")
        seconds = time.monotonic() - began
        assert seconds < 25.0 * BUSY
    page.goto(f"{served.base}/a/demo_meshes")
    page.wait_for_selector(".part")
    return page


def test_the_dropped_folder_stands_on_disk_as_it_was(demo: Any, served: Running) -> None:
    """Every mesh and both records, byte by byte, in a folder that the command line can plan."""
    folder = served.workspace / "demo_meshes"
    for path in (path for path in DEMO.iterdir() if not path.name.startswith(".")):
        assert (folder / path.name).read_bytes() == path.read_bytes()


def test_the_six_questions_are_answered_first(demo: Any) -> None:
    """In the order of the sheet, before anything else."""
    demo.click("nav >> text=Plan")
    demo.wait_for_selector(".answer")
    labels = demo.locator(".answer h3").all_text_contents()
    assert labels == ["Fits", "Finished", "Weighs", "Balances", "Buy", "Costs", "Start"]


def test_every_sheet_of_the_plan_is_there_and_fits_the_screen(demo: Any, served: Running) -> None:
    """At 1280 and 360 px nothing has to be pushed sideways but drawings and tables in their frames."""
    for width in (1280, 360):
        demo.set_viewport_size({"width": width, "height": 800})
        for sheet in SHEETS:
            demo.goto(f"{served.base}/a/demo_meshes{sheet}")
            demo.wait_for_selector("h1")
            assert demo.evaluate("document.documentElement.scrollWidth <= innerWidth"), (width, sheet)
    demo.set_viewport_size({"width": 1280, "height": 900})
    demo.goto(f"{served.base}/a/demo_meshes/beds")
    assert demo.locator(".bed svg").count() >= 5


def test_a_change_of_recipe_shows_before_and_after_and_is_taken_back(demo: Any, served: Running) -> None:
    """Mass, hours and cost within 2 s; the file on disk is as before afterwards."""
    record = served.workspace / "demo_meshes" / "airframe.toml"
    before = record.read_bytes()
    field = demo.locator("li.part:has(h4:text-is('hull front')) select[id$=recipe]")
    until(demo, "document.querySelector('.part .small').textContent.includes(' g')")
    began = time.monotonic()
    field.select_option("light")
    demo.wait_for_selector("#strip [data-measure=mass]:has-text('→')")
    seconds = time.monotonic() - began
    assert seconds < 2.0 * BUSY
    for measure in ("mass", "hours", "cost"):
        assert "→" in demo.locator(f"#strip [data-measure={measure}]").text_content()
    assert record.read_bytes() != before
    demo.click("#undo")
    demo.wait_for_selector("#strip:has-text('taken back')")
    assert record.read_bytes() == before


def test_a_wrong_value_is_told_beside_its_field_and_not_saved(demo: Any, served: Running) -> None:
    """In the words of the reader; the field is marked for those who cannot see it."""
    record = served.workspace / "demo_meshes" / "airframe.toml"
    before = record.read_bytes()
    field = demo.locator("#p1-1-copies")
    field.fill("9999")
    field.press("Tab")
    demo.wait_for_selector(".wrong:has-text('copies = 9999')")
    assert field.get_attribute("aria-invalid") == "true"
    assert record.read_bytes() == before


def test_what_is_being_written_survives_a_refresh_and_is_saved_on_leaving(demo: Any) -> None:
    """The sheet is put in place anew between the last key and the step to the next field."""
    demo.fill("#head-target", "1385")
    demo.evaluate("import('/static/live.js').then((live) => live.refresh())")
    assert demo.input_value("#head-target") == "1385"
    demo.press("#head-target", "Tab")
    demo.wait_for_selector("#strip:has-text('target mass')")
    demo.click("#undo")
    until(demo, "document.getElementById('head-target').value === '1400'")


def test_what_was_chosen_outlives_a_reload(demo: Any) -> None:
    """Nothing lives only in the browser."""
    demo.fill("#head-target", "1390")
    demo.press("#head-target", "Tab")
    demo.wait_for_selector("#strip:has-text('target mass')")
    demo.reload()
    demo.wait_for_selector(".part")
    assert demo.input_value("#head-target") == "1390"
    demo.click("#undo")
    until(demo, "document.getElementById('head-target').value === '1400'")


def test_the_week_is_drawn_and_saved(demo: Any, served: Running) -> None:
    """A stroke down Monday's column writes its hours; they are in the file after saving."""
    demo.click("nav >> text=Workshop")
    demo.wait_for_selector("#grid canvas")
    demo.locator("#grid canvas").scroll_into_view_if_needed()
    box = demo.locator("#grid canvas").bounding_box()
    x = box["x"] + 40 + 0.5 * (box["width"] - 40) / 7
    demo.mouse.move(x, box["y"] + 18 + 24 * 12 + 6)
    demo.mouse.down()
    demo.mouse.move(x, box["y"] + 18 + 27 * 12 + 6, steps=12)
    demo.mouse.up()
    assert demo.input_value("#day-mon") == "06:30-07:30, 12:00-14:00, 17:30-22:30"
    demo.click("text=Save the week")
    demo.wait_for_selector("#undo:has-text('attendance')")
    assert '"12:00"' in (served.workspace / "demo_meshes" / "workshop.toml").read_text(encoding="utf-8")
    demo.click("#undo")
    until(demo, "document.getElementById('day-mon').value === '06:30-07:30, 17:30-22:30'")


def test_the_cost_sheet_sorts_and_filters(demo: Any) -> None:
    """By amount, smallest and largest first; by words."""
    demo.click("nav >> text=Cost sheet")
    demo.wait_for_selector("body[data-ready] #cost")
    head = demo.locator("#cost th button", has_text="amount")
    amounts = "[...document.querySelectorAll('#cost tbody tr')].map(r => Number(r.cells[5].dataset.value))"
    head.click()
    rising = demo.evaluate(amounts)
    head.click()
    falling = demo.evaluate(amounts)
    assert rising == sorted(rising)
    assert falling == sorted(rising, reverse=True)
    demo.fill("#filter", "foaming")
    shown = demo.locator("#cost tbody tr:visible").all_text_contents()
    assert shown
    assert all("foaming" in row for row in shown)


def test_everything_can_be_taken_away(demo: Any, tmp_path: Path) -> None:
    """One archive with report, sheets, beds and calendar; and single files."""
    demo.click("nav >> text=Documents")
    with demo.expect_download() as told:
        demo.click("a[href$='all.zip']")
    told.value.save_as(tmp_path / "all.zip")
    names = set(zipfile.ZipFile(tmp_path / "all.zip").namelist())
    for wanted in ("report.html", "plan.json", "cost_sheet.xlsx", "schedule.ics"):
        assert f"demo_meshes/{wanted}" in names
    assert any(name.endswith(".3mf") for name in names)
    with demo.expect_download() as told:
        demo.click("a[href*='cost_sheet.csv']")
    assert Path(told.value.path()).stat().st_size > 500


def test_a_part_turns_in_3d_with_its_thin_wall_marked(demo: Any) -> None:
    """The view paints anew when an arrow key turns it; the mark is explained in words."""
    spot = demo.locator("[data-spot-of]").first
    spot.wait_for(state="attached")
    folded = spot.locator("xpath=ancestor::details")
    if folded.count() and not spot.is_visible():
        folded.locator("summary").click()  # findings that need nobody are folded
    spot.click()
    demo.wait_for_selector("#view[open]")
    until(demo, "Number(document.getElementById('view-canvas').dataset.painted) > 0")
    assert "The red ball marks: " in demo.text_content("#view-note")
    painted = "Number(document.getElementById('view-canvas').dataset.painted)"
    first = demo.evaluate(painted)
    demo.focus("#view-canvas")
    demo.keyboard.press("ArrowLeft")
    until(demo, f"{painted} > {first}")
    demo.click("#view-close")


def test_all_parts_and_a_bed_are_shown_in_3d(demo: Any, served: Running) -> None:
    """Every part at once, and a bed with its pieces where the plan lays them."""
    demo.click("#all-3d")
    until(demo, "Number(document.getElementById('view-canvas').dataset.painted) > 0")
    demo.click("#view-close")
    demo.goto(f"{served.base}/a/demo_meshes/beds")
    demo.locator("[data-bed-of]").first.click()
    until(demo, "Number(document.getElementById('view-canvas').dataset.painted) > 0")


def test_the_airframe_is_shown_put_together(demo: Any, served: Running) -> None:
    """Both wings from one mesh, and where it balances; the card of the first sheet has its outline."""
    demo.goto(f"{served.base}/a/demo_meshes/balance")
    demo.click("[data-assembled]")
    until(demo, "Number(document.getElementById('view-canvas').dataset.painted) > 0")
    assert 1000 < int(demo.locator("#view-canvas").get_attribute("data-triangles")) < 200_000
    assert "where it balances" in demo.text_content("#view-note")
    demo.click("#view-close")
    demo.goto(served.base + "/")
    demo.wait_for_selector(".card svg.outline path")
    assert "Shoreline survey glider" in demo.text_content(".card")


def test_gauges_are_whole_on_a_narrow_screen(demo: Any, served: Running) -> None:
    """At 360 px the mass bar and the ruler fit without being pushed sideways."""
    demo.set_viewport_size({"width": 360, "height": 800})
    for sheet in ("/plan", "/balance"):
        demo.goto(f"{served.base}/a/demo_meshes{sheet}")
        demo.wait_for_selector(".on-narrow svg")
        wide = "[...document.querySelectorAll('.on-narrow svg')].map(s => s.getBoundingClientRect().right)"
        assert all(0 < right <= 360 for right in demo.evaluate(wide))
        assert not demo.evaluate("[...document.querySelectorAll('.on-wide')].some(s => s.offsetWidth)")
    demo.set_viewport_size({"width": 1280, "height": 900})


def test_a_change_is_found_taken_and_taken_back(demo: Any, served: Running) -> None:
    """Fifty grams less: the proposal with its drawing, written into the record by one press, and undone."""
    record = served.workspace / "demo_meshes" / "airframe.toml"
    before = record.read_bytes()
    demo.goto(f"{served.base}/a/demo_meshes/changes")
    demo.fill("#wish-mass", "1304")
    demo.click("#find-changes")
    demo.wait_for_selector("#take-all")
    assert demo.locator("#answers figure svg circle").count() > 10
    assert "1 304 g" in demo.text_content("#answers")
    demo.click("#take-all")
    demo.wait_for_selector("#undo:has-text('changes')")
    assert record.read_bytes() != before
    demo.click("#undo")
    demo.wait_for_selector("#strip:has-text('taken back')")
    assert record.read_bytes() == before


def test_two_tabs_see_each_others_choices(demo: Any, open_tab: Any) -> None:
    """An edit in one tab appears in the other without a reload."""
    other = open_tab("/a/demo_meshes")
    other.wait_for_selector(".part")
    demo.fill("#head-target", "1380")
    demo.press("#head-target", "Tab")
    until(other, "document.getElementById('head-target').value === '1380'")
    demo.click("#undo")
    until(other, "document.getElementById('head-target').value === '1400'")


def test_a_search_is_stopped_and_keeps_its_best(demo: Any) -> None:
    """The plan that follows says that it was stopped."""
    demo.click("nav >> text=Plan")
    demo.select_option("#effort", "thorough")
    demo.click("#make-plan")
    demo.wait_for_selector("#running:visible")
    demo.click("#stop")
    demo.wait_for_selector("#running", state="hidden")
    assert demo.locator(".answer").count() == 7
    assert "stopped by hand" in demo.text_content("#answers")
