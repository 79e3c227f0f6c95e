"""Accessibility, by rules that others wrote (Source: axe-core 4.14, WCAG 2.2 A and AA)."""

from __future__ import annotations

from typing import Any

import pytest

from tests.browser.conftest import AXE, DEMO, Running, drop, planned

pytestmark = [pytest.mark.slow, pytest.mark.browser]

SHEETS = (
    "", "/kit", "/workshop", "/plan", "/today", "/beds", "/timetable", "/balance", "/cost", "/changes",
    "/each", "/build", "/notes", "/documents", "/records",
)  # fmt: skip
GRAVE = ("serious", "critical")
# Less grave by the rules, but what a reader by ear steers by.
ORDER = ("heading-order", "landmark-unique", "empty-table-header", "page-has-heading-one", "region")


def findings(page: Any) -> list[str]:
    """Serious and critical findings of the sheet that is shown."""
    # The policy of the page forbids script from elsewhere; the driver's own world does not.
    page.evaluate(AXE.read_text(encoding="utf-8"))
    told = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    return [
        f"{found['id']}: {node['html'][:110]}"
        for found in told["violations"]
        if found["impact"] in GRAVE or found["id"] in ORDER
        for node in found["nodes"][:3]
    ]


def test_no_sheet_has_serious_findings_in_light_dark_or_narrow(open_tab: Any, served: Running) -> None:
    """First sheet and every sheet of the planned demo, three ways each."""
    page = open_tab()
    drop(page, [DEMO])
    page.wait_for_url("**/a/demo_meshes")
    page.wait_for_selector(".part")
    planned(page)
    found = {}
    for scheme, width in (("light", 1280), ("dark", 1280), ("light", 360)):
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size({"width": width, "height": 900})
        for sheet in ("home", *SHEETS):
            page.goto(served.base + ("/" if sheet == "home" else f"/a/demo_meshes{sheet}"))
            page.wait_for_selector("h1")
            if told := findings(page):
                found[(scheme, width, sheet)] = told
    assert found == {}


def test_the_job_can_be_done_from_the_keyboard(open_tab: Any, served: Running) -> None:
    """The first stop skips to the sheet; every control of the first sheet is reached by Tab."""
    page = open_tab()
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    reached = set()
    for _ in range(8):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.id"))
    assert {"look", "pick-folder", "pick-files"} <= reached


def test_light_and_dark_are_chosen_and_kept(open_tab: Any) -> None:
    """The button goes round system, light, dark; a reload keeps it."""
    page = open_tab()
    page.click("#look")
    page.click("#look")
    assert page.evaluate("document.documentElement.dataset.look") == "dark"
    page.reload()
    assert page.evaluate("document.documentElement.dataset.look") == "dark"
    assert (
        page.evaluate("getComputedStyle(document.querySelector('.frame')).backgroundColor")
        == "rgb(25, 31, 37)"
    )
