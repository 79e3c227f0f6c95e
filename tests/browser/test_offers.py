"""What a plan proposes, pressed in a browser; walls and axes in their fields."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.browser.conftest import Running, drop, planned, until
from tests.builders import box, joined, moved, stl_bytes

pytestmark = [pytest.mark.slow, pytest.mark.browser]

SHOP = """currency = "EUR"
[[printer]]
name = "desk"
like = "desktop 220"
[[attendance]]
days = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
from = "07:00"
until = "22:30"
"""
HELD = """[airframe]
name = "tables"
[defaults]
recipe = "held"
[recipe.held]
like = "plain"
support = "everywhere"
[[part]]
mesh = "table.stl"
"""
ALONG_Y = np.array([[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])


def tables(folder: Path) -> Path:
    """A slab on one leg, held by support; on its head it needs none."""
    folder.mkdir()
    leg = moved(box(8.0, 8.0, 20.0), 11.0, 11.0)
    (folder / "table.stl").write_bytes(stl_bytes(joined(leg, moved(box(30.0, 30.0, 3.0), z=19.999))))
    (folder / "airframe.toml").write_text(HELD, encoding="utf-8")
    (folder / "workshop.toml").write_text(SHOP, encoding="utf-8")
    return folder


def record(served: Running, name: str) -> dict[str, Any]:
    """The airframe file as it is on disk."""
    return tomllib.loads((served.workspace / name / "airframe.toml").read_text(encoding="utf-8"))


def support_g(served: Running, name: str) -> float:
    """Grams of support of all parts in the plan."""
    (plan,) = (served.workspace / name).glob("[!.]*/**/plan.json")
    return float(sum(part["support_g"] for part in json.loads(plan.read_text(encoding="utf-8"))["parts"]))


def test_letting_a_part_turn_and_a_wall_for_a_bead(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """The press is in the file, the button goes, and the next plan needs no support; then its recipe."""
    page = open_tab()
    drop(page, [tables(tmp_path / "tables")])
    page.wait_for_url("**/a/tables")
    planned(page)
    page.wait_for_selector("#turns button")
    before = support_g(served, "tables")
    page.click("text=Let table turn")
    page.wait_for_selector("#turns", state="detached")
    assert record(served, "tables")["part"] == [{"mesh": "table.stl", "may_turn": True}]
    page.click("#make-plan")
    page.wait_for_selector("#running", state="visible")
    page.wait_for_selector("#running", state="hidden")
    page.wait_for_selector("#stale", state="detached")
    assert support_g(served, "tables") < 0.05 * before
    assert page.locator("#turns").count() == 0
    page.goto(f"{served.base}/a/tables")
    page.fill("#r1-wall_mm", "0.42")
    page.press("#r1-wall_mm", "Tab")
    until(page, "document.querySelector('#r1-bead_width_mm').value === '0.42'")
    assert record(served, "tables")["recipe"]["held"]["wall_mm"] == 0.42
    page.select_option("#r1-bead", "full")
    until(page, "document.querySelector('#r1-bead_width_mm').value === '0.37708'")
    page.fill("#r1-bead_width_mm", "0.4")
    page.press("#r1-bead_width_mm", "Tab")
    until(page, "document.querySelector('#r1-wall_mm').value === ''")
    held = record(served, "tables")["recipe"]["held"]
    assert held == {"like": "plain", "support": "everywhere", "bead": "full", "bead_width_mm": 0.4}


def test_how_an_airframe_lies_is_written_down(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """Drawn along y and recognised: one press writes the axes, which then stand in their fields."""
    placed = pytest.importorskip("tests.kits.placed")
    folder = placed.placed_kit(2, turn=ALONG_Y).write(tmp_path / "lying", '[airframe]\nname = "lying"\n')
    (folder / "workshop.toml").write_text(SHOP, encoding="utf-8")
    page = open_tab()
    drop(page, [folder])
    page.wait_for_url("**/a/lying")
    planned(page)
    page.wait_for_selector("#axes button")
    assert page.inner_text("#axes button") == "Write down how it lies: y aft, -x right, z up"
    page.click("#axes button")
    page.wait_for_selector("#axes", state="detached")
    assert record(served, "lying")["airframe"]["axes"] == {"aft": "y", "up": "z"}
    page.goto(f"{served.base}/a/lying")
    assert (page.input_value("#head-aft"), page.input_value("#head-up")) == ("y", "z")
    page.select_option("#head-up", "y")
    until(page, "document.querySelector('#head-aft').value === 'z'")
    assert record(served, "lying")["airframe"]["axes"] == {"aft": "z", "up": "y"}
    page.select_option("#head-up", "")
    until(page, "document.querySelector('#head-aft').value === ''")
    assert "axes" not in record(served, "lying")["airframe"]
