"""Edits, reckonings and the sheet: nothing that is typed or chosen is lost, and nothing jumps."""

from __future__ import annotations

import json
import shutil
import tomllib
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Running, drop, until
from tests.builders import box, stl_bytes

pytestmark = [pytest.mark.slow, pytest.mark.browser]

SHOP = """currency = "EUR"
[[printer]]
name = "desk one"
like = "desktop 220"
[[printer]]
name = "desk two"
like = "desktop 220"
count = 2
[[attendance]]
days = ["mon", "tue"]
from = "17:30"
until = "22:30"
person = "Ada"
[[attendance]]
days = ["mon", "tue"]
from = "17:30"
until = "22:30"
person = "Ben"
"""


def kit(root: Path, name: str, count: int = 24) -> Path:
    """A prepared folder: meshes and both records."""
    folder = root / name
    folder.mkdir()
    rows = []
    for k in range(count):
        (folder / f"rib {k:02d}.stl").write_bytes(stl_bytes(box(60, 12 + k / 4, 3)))
        rows.append(f'[[part]]\nmesh = "rib {k:02d}.stl"\nsection = "wing {k % 3}"\n')
    (folder / "airframe.toml").write_text(
        '[airframe]\nname = "Test wing"\ntarget_mass_g = 900\n' + "".join(rows), encoding="utf-8"
    )
    (folder / "workshop.toml").write_text(SHOP, encoding="utf-8")
    return folder


@pytest.fixture
def wing(open_tab: Any, served: Running, tmp_path: Path) -> Any:
    """A tab at the parts of a prepared kit of 24 ribs; its figures are there."""
    page = open_tab()
    if not (served.workspace / "wing").is_dir():
        drop(page, [kit(tmp_path, "wing")])
        page.wait_for_url("**/a/wing")
    page.goto(f"{served.base}/a/wing")
    page.wait_for_selector(".part .figures:not(.old)")
    return page


@pytest.fixture
def slow(wing: Any) -> Any:
    """Reckonings that do not end while the test runs; edits are answered as ever."""
    wing.route("**/reckon", lambda route: None)
    yield wing
    wing.unroute_all(behavior="ignoreErrors")


def record(served: Running, file: str = "airframe.toml") -> dict[str, Any]:
    """A record of the kit as it is on disk."""
    return tomllib.loads((served.workspace / "wing" / file).read_text(encoding="utf-8"))


def test_a_prepared_folder_is_not_greeted_by_a_wrong_record(
    open_tab: Any, served: Running, tmp_path: Path
) -> None:
    """While the meshes are looked at it says so; the record is fine, and planning is open at once."""
    page = open_tab()
    page.route("**/look", lambda route: None)  # the sheet as it is before the look has ended
    drop(page, [kit(tmp_path, "prepared", 3)])
    page.wait_for_url("**/a/prepared")
    assert page.locator("text=cannot be read").count() == 0
    page.unroute_all(behavior="ignoreErrors")
    page.goto(f"{served.base}/a/prepared/plan")
    page.wait_for_selector("#make-plan:enabled")
    page.wait_for_selector("#looking", state="detached")
    assert page.locator("text=cannot be read").count() == 0


def test_edits_are_saved_while_a_reckoning_goes_on(slow: Any, served: Running) -> None:
    """Three edits during one endless reckoning: all are on disk, no field jumps back."""
    for at, copies in ((1, "2"), (2, "3"), (3, "4")):
        slow.fill(f"#p1-{at}-copies", copies)
        slow.press(f"#p1-{at}-copies", "Tab")
    slow.select_option("#p1-4-recipe", "solid")
    until(slow, "document.querySelector('#undo')?.textContent.includes('solid')")
    rows = {row["mesh"]: row for row in record(served)["part"]}
    assert [rows[f"rib {k:02d}.stl"].get("copies") for k in (0, 3, 6)] == [2, 3, 4]
    assert rows["rib 09.stl"]["recipe"] == "solid"
    assert slow.input_value("#p1-4-recipe") == "solid"


def test_grams_are_told_before_the_beds_are_reckoned(slow: Any) -> None:
    """While a reckoning goes on without end: grams before and after, hours and money about, and the bar."""
    slow.select_option("#p1-5-recipe", "solid")
    slow.wait_for_selector("#strip [data-first=mass]:has-text('→')")
    for measure in ("hours", "cost"):
        assert "≈" in slow.locator(f"#strip [data-first={measure}]").text_content()
    assert slow.locator("#strip [data-first=beds]").count() == 0
    assert slow.locator("#reckon-bar").count() == 1


def test_a_choice_does_not_jump_back_while_it_is_being_saved(wing: Any) -> None:
    """A refresh that was asked for before the answer shows what was chosen, not what was before."""
    held = []
    wing.route("**/edit", lambda route: held.append(route))
    wing.select_option("#p2-1-recipe", "solid")
    wing.evaluate("import('/static/live.js').then((live) => live.refresh())")
    wing.wait_for_timeout(400)
    assert wing.input_value("#p2-1-recipe") == "solid"
    held.pop().continue_()
    until(wing, "document.querySelector('#undo')?.textContent.includes('solid')")
    assert wing.input_value("#p2-1-recipe") == "solid"
    wing.unroute_all(behavior="ignoreErrors")


def test_a_link_waits_for_the_last_edit(wing: Any, served: Running) -> None:
    """Plan is pressed while an edit is on its way: the edit arrives first, then the sheet is left."""
    wing.route("**/edit", lambda route: (wing.wait_for_timeout(700), route.continue_()))
    wing.fill("#head-target", "910")
    wing.click("nav >> text=Plan")
    wing.wait_for_url("**/plan")
    assert record(served)["airframe"]["target_mass_g"] == 910
    wing.unroute_all(behavior="ignoreErrors")


def test_a_refused_edit_keeps_the_sheet_that_was_to_be_left(wing: Any) -> None:
    """What was refused is told beside its field instead of being left behind."""
    wing.fill("#p1-1-copies", "many")
    wing.route("**/edit", lambda route: (wing.wait_for_timeout(300), route.continue_()))
    wing.click("nav >> text=Plan")
    wing.wait_for_selector("#p1-1-copies[aria-invalid]")
    assert wing.url.endswith("/a/wing")
    assert wing.input_value("#p1-1-copies") == "many"
    wing.unroute_all(behavior="ignoreErrors")


def test_leaving_with_an_unsent_edit_warns(wing: Any) -> None:
    """Also what is typed and not yet left; without anything unsent there is no question."""
    asked: list[str] = []

    def answer(dialog: Any) -> None:
        asked.append(dialog.type)
        dialog.accept()

    wing.on("dialog", answer)
    wing.reload()
    wing.wait_for_selector(".part")
    assert asked == []
    wing.route("**/edit", lambda route: None)
    wing.click("#head-target")
    wing.keyboard.type("1")
    wing.reload()
    assert asked == ["beforeunload"]


def test_rows_keep_their_figures_and_the_sheet_its_place_while_it_reckons(slow: Any) -> None:
    """Old grams stay, greyed, in every row; the row under the eye does not move by more than a line."""
    before = slow.locator(".part .figures").count()
    row = slow.locator("#p2-5-copies")
    row.scroll_into_view_if_needed()
    place = row.bounding_box()["y"]
    scrolled = slow.evaluate("scrollY")
    assert scrolled > 300
    row.fill("5")
    row.press("Tab")
    until(slow, "document.querySelectorAll('.part .figures.old').length > 0")
    assert slow.locator(".part .figures.old").count() == before > 20
    assert slow.evaluate("scrollY") == scrolled
    assert abs(row.bounding_box()["y"] - place) < 22
    assert slow.evaluate("document.activeElement.id") == "p2-5-hand"


def test_half_typed_rows_and_drawn_hours_survive_another_edit(slow: Any, served: Running) -> None:
    """A spool half written, hours of a day, and a refused value stay when another field is saved."""
    slow.goto(f"{served.base}/a/wing/workshop?person=Ada")
    slow.fill("#new-spool", "shelf 9")
    slow.fill("#new-spool-left", "420")
    slow.fill("#day-wed", "08:00-09:00")
    count = slow.locator("fieldset[id=printer_desk_two] input[id$=-count]")
    count.fill("0")
    count.press("Tab")
    slow.wait_for_selector(".wrong:has-text('count = 0')")
    slow.fill("#top-persons", "2")
    slow.press("#top-persons", "Tab")
    until(slow, "document.querySelector('#undo')?.textContent.includes('persons')")
    assert slow.input_value("#new-spool") == "shelf 9"
    assert slow.input_value("#new-spool-left") == "420"
    assert slow.input_value("#day-wed") == "08:00-09:00"
    assert count.input_value() == "0"
    told, field = slow.locator(".wrong").bounding_box(), count.bounding_box()
    assert abs(told["y"] - field["y"]) < 60
    assert abs(told["x"] - field["x"]) < 200


def test_a_refused_row_keeps_all_that_was_typed(slow: Any, served: Running) -> None:
    """The message stands at the value that it is about; once it is right the row is added and emptied."""
    slow.goto(f"{served.base}/a/wing/workshop")
    slow.fill("#new-spool", "shelf 1")
    slow.fill("#new-spool-left", "-5")
    slow.press("#new-spool-left", "Enter")
    slow.wait_for_selector("#new-spool-left[aria-invalid]")
    assert slow.input_value("#new-spool") == "shelf 1"
    slow.fill("#new-spool-left", "500")
    slow.press("#new-spool-left", "Enter")
    slow.wait_for_selector("[id=spool_shelf_1]")
    assert slow.input_value("#new-spool") == ""
    assert slow.locator(".wrong").count() == 0
    assert record(served, "workshop.toml")["spool"][0]["grams_left"] == 500


def test_the_week_of_one_person_leaves_the_other_with_equal_hours(slow: Any, served: Running) -> None:
    """Two people, the same hours; a day more for one of them."""
    slow.goto(f"{served.base}/a/wing/workshop?person=Ada")
    slow.fill("#day-sun", "10:00-12:00")
    slow.click("#week button[type=submit]")
    until(slow, "document.querySelector('#undo')?.textContent.includes('Ada')")
    rows = record(served, "workshop.toml")["attendance"]
    assert [row["person"] for row in rows if row["from"] == "17:30"] == ["Ada", "Ben"]
    assert [row["person"] for row in rows if row["from"] == "10:00"] == ["Ada"]


def test_a_row_is_known_by_its_name_when_one_before_it_goes(slow: Any, served: Running) -> None:
    """Remove the first printer and, before the sheet knows, change the second; then rename it."""
    slow.goto(f"{served.base}/a/wing/workshop")
    shop = served.workspace / "wing" / "workshop.toml"
    kept = shop.read_text(encoding="utf-8")
    slow.evaluate(
        """async () => {
          const { edit } = await import('/static/edits.js');
          const named = (row, name, more) => ({ kind: 'printer', row, name, ...more });
          edit('remove_row', named(0, 'desk one', {}));
          edit('set_row', named(1, 'desk two', { key: 'count', value: 3 }));
          edit('set_row', named(1, 'desk two', { key: 'name', value: 'big desk' }));
          await edit('set_row', named(1, 'desk two', { key: 'count', value: 4 }));
        }"""
    )
    until(slow, "document.querySelector('[id=printer_big_desk]') !== null")
    assert [(p["name"], p["count"]) for p in record(served, "workshop.toml")["printer"]] == [("big desk", 4)]
    shop.write_text(kept, encoding="utf-8")


def test_focus_goes_to_the_next_row_when_one_is_removed(slow: Any, served: Running) -> None:
    """From the keyboard: the button that was pressed is gone, its neighbour has the focus."""
    slow.goto(f"{served.base}/a/wing/workshop")
    slow.locator("#printers [data-do=remove_row]").first.focus()
    slow.keyboard.press("Enter")
    until(slow, "document.querySelectorAll('#printers fieldset.row').length === 1")
    until(slow, "document.activeElement.dataset.do === 'remove_row'")
    slow.click("#undo")
    until(slow, "document.querySelectorAll('#printers fieldset.row').length === 2")


def test_edits_wait_while_nobody_answers(wing: Any, served: Running, open_tab: Any) -> None:
    """The page says how many are not saved and asks again; nothing is lost."""
    open_tab.forgiven.append("ERR_FAILED")
    wing.route("**/edit", lambda route: route.abort())
    wing.select_option("#p3-1-filament", "PETG")
    wing.wait_for_selector("#strip:has-text('Not saved yet: 1')")
    wing.unroute_all(behavior="ignoreErrors")
    until(wing, "document.querySelector('#undo')?.textContent.includes('PETG')")
    rows = {row["mesh"]: row for row in record(served)["part"]}
    assert rows["rib 02.stl"]["filament"] == "PETG"


def test_a_drop_on_a_sheet_that_takes_none_is_told(wing: Any, served: Running, tmp_path: Path) -> None:
    """Nothing is received in silence, and nothing is opened instead of the sheet."""
    wing.goto(f"{served.base}/a/wing/plan")
    drop(wing, [kit(tmp_path, "other", 1)])
    wing.wait_for_selector("#strip:has-text('Nothing was received here')")
    assert not (served.workspace / "other").exists()


def test_the_first_reckoning_after_a_drop_shows_that_something_happens(
    open_tab: Any, served: Running, tmp_path: Path
) -> None:
    """Stage and share in the strip until the figures are there."""
    page = open_tab()
    told = {"stage": "estimate", "share": 0.25}
    page.route(
        "**/reckon",
        lambda route: route.fulfill(json=told) if route.request.method == "GET" else None,
    )
    drop(page, [kit(tmp_path, "fresh", 3)])
    page.wait_for_url("**/a/fresh")
    page.wait_for_selector("#strip:has-text('estimate, 25 %')")
    assert page.evaluate("document.getElementById('reckon-bar').value") == 0.25
    page.unroute_all(behavior="ignoreErrors")


def test_another_start_of_the_page_is_told_once(wing: Any, open_tab: Any) -> None:
    """The secret of this sheet is void: it says which address to open, and asks no more."""
    open_tab.forgiven.append("status of 403")
    asked = []
    wing.route("**/run", lambda route: (asked.append(1), route.fulfill(status=403, body="gone")))
    wing.wait_for_selector("#strip:has-text('started anew')", timeout=20_000)
    count = len(asked)
    wing.wait_for_timeout(4000)
    assert len(asked) == count == 1
    wing.unroute_all(behavior="ignoreErrors")


def test_a_plan_made_elsewhere_is_told(wing: Any, served: Running) -> None:
    """A tab that shows another sheet says that there is a plan now; the sheet shows it."""
    folder = served.workspace / "wing" / ".page"
    wing.goto(f"{served.base}/a/wing/notes")
    wing.wait_for_selector("text=There is no plan yet")
    blank = dict.fromkeys(("balance", "parts", "timetable", "build"), "")
    plan = {
        **blank,
        "notes": "<p>made elsewhere</p>",
        "identification": "abc",
        "made": "now",
        "revision": "x",
    }
    (folder / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    wing.wait_for_selector("text=made elsewhere", timeout=20_000)
    wing.wait_for_selector("#strip:has-text('A new plan was made')")
    assert wing.locator("#stale a:has-text('Plan again')").count() == 1
    (folder / "plan.json").unlink()
    shutil.rmtree(served.workspace / "wing" / "plan", ignore_errors=True)


def test_a_plan_that_another_tab_began_is_told_everywhere(wing: Any, served: Running, open_tab: Any) -> None:
    """On the sheet Plan with its bar, share and time left; on the others in a sentence."""
    running = {
        "state": "running", "stage": "estimate", "done": 3, "total": 9, "best_h": None, "share": 0.4,
        "left_s": 31.0, "seconds": 21.0, "message": "",
    }  # fmt: skip

    def answer(route: Any) -> None:
        route.fulfill(json=running)

    here = wing.evaluate("({ revision: document.body.dataset.revision, plan: document.body.dataset.plan })")
    running.update(here)
    wing.route("**/run", answer)
    wing.wait_for_selector("#strip:has-text('A plan is being made')", timeout=20_000)
    plan = open_tab("/a/wing/plan")
    plan.route("**/run", answer)
    plan.wait_for_selector("#running:visible", timeout=20_000)
    until(plan, "document.getElementById('run-words').textContent.includes('40 %')")
    told = plan.text_content("#run-words")
    assert "estimate, 3 / 9" in told
    assert "about 35 s to go" in told
    assert plan.evaluate("document.getElementById('run-bar').value") == 0.4
    assert plan.title().startswith("40 %")
    running["state"], running["left_s"] = "stopping", None
    until(plan, "document.getElementById('run-words').textContent.includes('Stopping')")
    assert "estimate" in plan.text_content("#run-words")
    assert not plan.locator("#stop").is_enabled()


def test_those_who_listen_are_told_each_thing_once(wing: Any) -> None:
    """One region says what happened; what changes many times a second is in none."""
    noisy = "document.querySelectorAll('[role=status], [aria-live]').length"
    assert wing.evaluate(noisy) == 1
    wing.evaluate(
        """window.said = []; new MutationObserver(() =>
          window.said.push(document.getElementById('said').textContent)).observe(
            document.getElementById('said'), { childList: true, characterData: true, subtree: true })"""
    )
    wing.fill("#head-target", "915")
    wing.press("#head-target", "Tab")
    wing.wait_for_selector("#strip [data-measure=mass]")
    told = wing.evaluate("window.said")
    assert 1 <= len(told) <= 2
    assert "target mass" in told[-1]


def test_a_label_stays_readable_under_the_mouse(wing: Any, served: Running) -> None:
    """A button that is off keeps its grey on its grey; nothing turns white on near-white."""
    wing.goto(f"{served.base}/a/wing/plan")
    wing.wait_for_selector("#make-plan:enabled")
    wing.evaluate("document.getElementById('make-plan').disabled = true")
    colour = "getComputedStyle(document.getElementById('make-plan')).color"
    before = wing.evaluate(colour)
    wing.hover("#make-plan", force=True)
    wing.wait_for_timeout(300)
    assert wing.evaluate(colour) == before


def test_a_replaced_mesh_is_told_at_once(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """While the reckoning goes on without end: grams before and after of the mesh that was dropped."""
    page = open_tab()
    drop(page, [kit(tmp_path, "replaced", 6)])
    page.wait_for_url("**/a/replaced")
    page.wait_for_selector(".part .figures:not(.old)")
    page.route("**/reckon", lambda route: None)
    (tmp_path / "rib 02.stl").write_bytes(stl_bytes(box(90, 30, 6)))
    page.set_input_files("#files", [str(tmp_path / "rib 02.stl")])
    page.wait_for_selector("#strip [data-first=mass]:has-text('\u2192')")
    assert "rib 02.stl received" in page.inner_text("#strip")
    assert "\u2248" in page.inner_text("#strip [data-first=hours]")
    page.wait_for_selector("#looking", state="detached")
    assert page.locator("#strip [data-first=mass]").count() == 1
    page.unroute_all(behavior="ignoreErrors")
    page.reload()
    page.wait_for_selector(".part .figures:not(.old)")
    assert page.locator("#strip [data-first=mass]").count() == 0  # told once
