"""Picture of the sheet Kit: a generated kit of 45 files without useful names, dropped and confirmed."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import Any

from environment import ROOT

SEED, FILES = 5, 45
WIDE, TALL = 1280, 1500
NAME = "page_kit.png"
LEFT = ("001", "002", "003")
FITTINGS = (("motor", "62", "-150"), ("battery", "95", "-95"), ("servo", "9", "60"), ("receiver", "7", "20"))


def nameless_kit(folder: Path) -> Path:
    """Files that are called by numbers: wing panels, hull segments, noses, tail, ribs."""
    sys.path.insert(0, str(ROOT))
    from tests.builders import stl_bytes
    from tests.kits import shapes
    from tests.kits.raw import raw_kit

    folder.mkdir(parents=True)
    solids = [part.solid for part in raw_kit(SEED, "en")]
    while len(solids) < FILES:
        solids.append(shapes.rib(90.0 + 4.0 * (len(solids) % 17), 2.4))
    for number, solid in enumerate(solids[:FILES], start=1):
        (folder / f"{number:03d}.stl").write_bytes(stl_bytes(shapes.mesh_of(solid)))
    return folder


def photograph_kit(page: Any, address: str, pictures: Path) -> str:
    """Drop the kit, accept what needs no number, name what is bought, and photograph the sheet."""
    with tempfile.TemporaryDirectory() as place:
        page.set_viewport_size({"width": WIDE, "height": TALL})
        page.goto(address)
        page.wait_for_selector("body[data-ready]")
        page.set_input_files("#folder", str(nameless_kit(Path(place) / "loose parts")))
        page.wait_for_selector(".kit .part")
        page.wait_for_selector("#kit-canvas[data-pieces]")
    page.fill("#kit-cards form input", "-170")  # where the fuselage begins
    page.press("#kit-cards form input", "Enter")
    page.wait_for_selector("#kit-stacks legend:text-is('fuselage')")
    for part in LEFT:  # which half is which, nobody can tell from symmetric panels: three parts at once
        page.check(f"input[data-choose='{part}']")
    page.select_option("#many-hand", "left")
    page.click("#many-set")
    page.wait_for_selector("[data-painted]:not([data-pieces='0'])")
    for at, (name, grams, station) in enumerate(FITTINGS):
        page.fill("#new-fitting", name)
        page.fill("#new-fitting-mass", grams)
        page.press("#new-fitting-mass", "Enter")
        page.fill(f"#f{at}-station", station)
        page.press(f"#f{at}-station", "Tab")
    page.wait_for_selector("#strip [data-measure=balance]")
    for part in LEFT:
        page.uncheck(f"input[data-choose='{part}']")
    page.click("#strip button")
    page.evaluate("scrollTo(0, 0)")
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(1500)  # the fine picture comes when it rests
    page.screenshot(path=str(pictures / NAME))
    return NAME
