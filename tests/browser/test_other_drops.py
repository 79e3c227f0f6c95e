"""What else is dropped: bad files, script in names, archives, folders of two hundred files."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import Running, drop
from tests.builders import box, stl_bytes
from tests.unit.web.page_desk import zipped

pytestmark = [pytest.mark.slow, pytest.mark.browser]

EVIL = "<img src=x onerror=document.title='owned'>"


def test_bad_files_are_named_and_the_good_one_is_kept(open_tab: Any, tmp_path: Path) -> None:
    """An empty file, a text that calls itself a mesh, a format that nobody reads."""
    folder = tmp_path / "mixed"
    folder.mkdir()
    (folder / "good.stl").write_bytes(stl_bytes(box(30, 20, 10)))
    (folder / "empty.stl").write_bytes(b"")
    (folder / "words.stl").write_bytes(b"this is no mesh at all")
    (folder / "other.ply").write_bytes(b"ply\n")
    page = open_tab()
    drop(page, [folder])
    page.wait_for_url("**/a/mixed/kit")
    page.wait_for_selector(".part")
    told = page.text_content("#kit-facts")
    assert page.locator(".part").count() == 1
    for name in ("empty.stl", "words.stl", "other.ply"):
        assert name in told


def test_nothing_but_bad_files_is_told_without_a_failure(open_tab: Any, tmp_path: Path) -> None:
    """The sheet names them; planning says what is missing."""
    (tmp_path / "broken.stl").write_bytes(b"")
    page = open_tab()
    page.wait_for_selector("body[data-ready]")
    page.set_input_files("#files", [str(tmp_path / "broken.stl")])
    page.wait_for_url("**/a/broken/kit")
    page.wait_for_selector("#kit-facts >> text=broken.stl")
    page.click("nav >> text=Plan")
    page.click("#make-plan")
    page.wait_for_selector("#run-failed:visible")
    assert "no usable mesh" in page.text_content("#run-failed")


def test_script_in_names_runs_nowhere(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """Part, section and airframe names of markup are shown as they are, before and after planning."""
    folder = tmp_path / "evil"
    folder.mkdir()
    (folder / "a.stl").write_bytes(stl_bytes(box(30, 20, 10)))
    quoted = json.dumps(EVIL)
    (folder / "airframe.toml").write_text(
        f'[airframe]\nname = {quoted}\n[[part]]\nmesh = "a.stl"\nname = {quoted}\nsection = {quoted}\n',
        encoding="utf-8",
    )
    page = open_tab()
    drop(page, [folder])
    page.wait_for_url("**/a/evil")
    page.wait_for_selector(".part")
    assert page.text_content(".part h4") == EVIL
    page.click("nav >> text=Plan")
    page.select_option("#effort", "quick")
    page.click("#make-plan")
    page.wait_for_selector(".answer")
    for sheet in (
        "",
        "/plan",
        "/beds",
        "/timetable",
        "/balance",
        "/cost",
        "/each",
        "/build",
        "/notes",
        "/file/report.html",
    ):
        page.goto(f"{served.base}/a/evil{sheet}")
        page.wait_for_timeout(150)
        assert page.title() != "owned"
        assert page.locator("img[src=x]").count() == 0


def test_two_hundred_files_arrive(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """Each by itself, with progress; the folder holds all of them and the sheet stays usable."""
    folder = tmp_path / "many"
    folder.mkdir()
    for k in range(200):
        (folder / f"rib {k:03d}.stl").write_bytes(stl_bytes(box(40, 10 + k / 20, 3)))
    page = open_tab()
    drop(page, [folder])
    page.wait_for_url("**/a/many/kit")
    page.wait_for_selector(".part")
    assert page.locator(".part").count() == 200
    assert len(list((served.workspace / "many").glob("*.stl"))) == 200


def test_an_archive_and_a_single_file_are_taken(open_tab: Any, tmp_path: Path) -> None:
    """By the button for files."""
    (tmp_path / "packed.zip").write_bytes(zipped({"zipped kit/rib.stl": stl_bytes(box(30, 20, 10))}))
    page = open_tab()
    page.wait_for_selector("body[data-ready]")
    page.set_input_files("#files", [str(tmp_path / "packed.zip")])
    page.wait_for_url("**/a/zipped*kit/kit")
    page.wait_for_selector(".part")


def test_a_foreign_page_cannot_reach_this_one(browser: Any, served: Running) -> None:
    """A page of another origin gets nothing and changes nothing, even from the same browser."""
    context = browser.new_context()
    page = context.new_page()
    page.goto(served.address)
    page.goto("data:text/html,<title>foreign</title>")
    told = page.evaluate(
        """async (base) => {
          const tried = [["GET", "/"], ["POST", "/drop"]].map(([method, path]) =>
            fetch(base + path, { method, credentials: "include" })
              .then((a) => a.status).catch(() => "refused"));
          return Promise.all(tried);
        }""",
        served.base,
    )
    context.close()
    assert told == ["refused", "refused"]
    assert not any((served.workspace / ".dropped").iterdir())
