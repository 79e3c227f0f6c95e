"""Machine files dropped on the page: read, looked at layer by layer, and taken with the plan that follows."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from planner.io.results.plan_file import read_plan
from planner.ledger.fact import READ_BACK
from planner.ledger.reading import Reader
from tests.browser.conftest import Running, drop, planned, until
from tests.browser.test_access import findings
from tests.machine_files.beds import file_of
from tests.machine_files.writer import Style
from tests.small_job import write_small_job

pytestmark = [pytest.mark.slow, pytest.mark.browser]

MOVES, LAYERS = 1_000_000, 50
MEDIAN_MS, P95_MS = 16.0, 50.0
# Every position is drawn at once when the slider moves; a pixel that is read back waits for the last line.
SLIDE = """async (count) => {
  const slider = document.querySelector('details[open] input[type=range]');
  const canvas = document.querySelector('details[open] canvas');
  const took = [];
  for (let n = 0; n < count; n += 1) {
    slider.value = Math.round(n * slider.max / (count - 1));
    const began = performance.now();
    slider.dispatchEvent(new Event('input', { bubbles: true }));
    canvas.getContext('2d').getImageData(0, 0, 1, 1);
    took.push(performance.now() - began);
    if (canvas.dataset.drawn !== slider.value) throw new Error(`layer ${slider.value} is not there`);
    await new Promise((done) => requestAnimationFrame(done));
  }
  return took;
}"""
DARK = """() => {
  const canvas = document.querySelector('details[open] canvas');
  const { data } = canvas.getContext('2d').getImageData(0, 0, canvas.width, canvas.height);
  let inked = 0;
  for (let at = 0; at < data.length; at += 4) inked += data[at] < 128;
  return inked;
}"""


def read(page: Any, files: list[Path]) -> None:
    """Drop them on the sheet and wait until they are read."""
    drop(page, files)
    page.wait_for_selector(f".read >> nth={len(files) - 1}")
    page.wait_for_selector("#reading", state="hidden")
    page.wait_for_selector("#onward")


def glider(page: Any, kit: Path) -> None:
    drop(page, [write_small_job(kit / "glider")])
    page.wait_for_url("**/a/glider*")
    page.wait_for_selector(".part")
    planned(page)


def test_files_are_read_looked_at_and_taken(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """A refused one and a stranger beside a good one; what follows is shown before anything is written."""
    page = open_tab()
    glider(page, tmp_path)
    folder = served.workspace / page.url.split("/a/")[1].split("/")[0]
    before = (folder / "plan" / "plan.json").read_bytes()
    plan = read_plan(folder / "plan" / "plan.json")
    batch = max(plan.batches, key=lambda one: one.mass_g)
    density = plan.filaments[batch.filament].deposited_g_per_cm3
    good, odd = tmp_path / "bed.moves", tmp_path / "odd.txt"
    style = Style(retract_mm=0.0, temperatures=(215.0, 60.0))
    good.write_text(file_of(batch, mm3=1.05 * batch.mass_g * 1000.0 / density, low=30, style=style))
    odd.write_text("G21\nG5 X1\n")
    page.click("nav >> text=Machine files")
    page.wait_for_url("**/moves")
    page.wait_for_selector("body[data-ready]")  # a sheet that is still to come has no heading
    assert findings(page) == []
    read(page, [good, odd])
    assert findings(page) == []
    words = page.inner_text("#moves")
    assert "5 % more filament than planned" in words
    assert "odd.txt: line 2 (G5 X1): G5 is no G word that is read." in words

    page.click("details.layers summary")
    page.wait_for_selector("details.layers canvas[data-drawn='0']")
    page.focus("details.layers input")
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    assert page.inner_text("details.layers output") == "layer 4 of 31, 0.80 mm"
    assert page.get_attribute("details.layers input", "aria-valuetext") == "layer 4 of 31, 0.80 mm"
    until(page, "document.querySelector('details[open] canvas').dataset.drawn === '3'")
    assert page.evaluate(DARK) > 500
    assert findings(page) == []
    page.set_viewport_size({"width": 390, "height": 844})
    page.wait_for_timeout(300)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert findings(page) == []
    page.emulate_media(media="print")
    assert page.is_visible("details.layers canvas")
    assert page.is_visible(".on-paper")
    assert not page.is_visible("details.layers input")
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 1280, "height": 900})

    page.click("#go-on")
    page.wait_for_selector("#onward-take")
    assert f"{batch.name} goes by bed.moves" in page.inner_text("#answers")
    assert (folder / "plan" / "plan.json").read_bytes() == before
    assert not (folder / "ledger.sqlite").exists()
    page.click("#onward-take")
    page.wait_for_selector("#moves-old")
    with Reader(folder / "ledger.sqlite") as ledger:
        assert [(fact.kind, fact.about, fact.who) for fact in ledger.facts()] == [
            (READ_BACK, batch.name, "page")
        ]
    told = json.loads((folder / "plan" / "plan.json").read_text(encoding="utf-8"))
    (bed,) = [one for one in told["batches"] if one["batch"] == batch.name]
    assert bed["mass_g"] == pytest.approx(1.05 * batch.mass_g, rel=0.01)


def million(path: Path) -> None:
    """A million moves of some two millimetres, back and forth over a bed, in fifty layers."""
    rows = 200
    across = MOVES // LAYERS // rows
    x = 10.0 + 2.0 * np.arange(across + 1)
    with path.open("w") as out:
        out.write("G21\nG90\nM83\nG0 X10 Y10 Z.2\n")
        for layer in range(LAYERS):
            out.write(f"G0 Z{0.2 * (layer + 1):.1f}\nG1 F3000\n")
            for row in range(rows):
                way = x if row % 2 == 0 else x[::-1]
                y = 10.0 + row + 0.3 * np.sin(0.7 * way + layer)
                out.write(f"G0 X{way[0]:.2f} Y{y[0]:.2f}\n")
                out.write(
                    "".join(f"G1 X{a:.2f} Y{b:.2f} E.07\n" for a, b in zip(way[1:], y[1:], strict=True))
                )


def test_the_slider_is_smooth_at_a_million_moves(open_tab: Any, served: Running, tmp_path: Path) -> None:
    """Fifty positions: 16 ms in the median, 50 ms at the 95th percentile."""
    page = open_tab()
    glider(page, tmp_path)
    million(tmp_path / "large")
    page.click("nav >> text=Machine files")
    read(page, [tmp_path / "large"])
    page.click("details.layers summary")
    page.wait_for_selector("details.layers canvas[data-drawn='0']")
    page.focus("details.layers input")
    page.keyboard.press("End")
    for at in range(LAYERS):  # all of them are fetched once
        page.evaluate(SLIDE_TO, at)
        until(page, f"document.querySelector('details[open] canvas').dataset.drawn === '{at}'")
    took = np.array(page.evaluate(SLIDE, 50))
    median, late = np.percentile(took, [50.0, 95.0])
    print(f"a change of the height: {median:.1f} ms in the median, {late:.1f} ms at 95 %")  # noqa: T201
    assert median < MEDIAN_MS
    assert late < P95_MS


def test_layers_that_are_opened_before_the_scripts_are_there_are_drawn(
    open_tab: Any, served: Running, tmp_path: Path
) -> None:
    """Whoever is quicker than the page: its script comes two seconds late."""
    page = open_tab()
    glider(page, tmp_path)
    page.click("nav >> text=Machine files")
    lines = "".join(f"G0 X20 Y{20 + n}\nG1 X60 Y{20 + n} E2 F3000\n" for n in range(40))
    (tmp_path / "one_layer").write_text(f"G21\nG90\nM83\nG0 X20 Y20 Z.2\n{lines}")
    read(page, [tmp_path / "one_layer"])

    def late(route: Any) -> None:
        page.wait_for_timeout(2000)
        route.continue_()

    page.route("**/static/moves.js", late)
    page.reload(wait_until="commit")
    page.click("details.layers summary")
    page.wait_for_selector("details.layers canvas[data-drawn='0']")


SLIDE_TO = """(at) => {
  const slider = document.querySelector('details[open] input[type=range]');
  slider.value = at;
  slider.dispatchEvent(new Event('input', { bubbles: true }));
}"""
