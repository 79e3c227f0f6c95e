"""Pictures of the page: the demo is dropped and planned in a real browser, then photographed."""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from environment import ROOT
from picture_kit import photograph_kit

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--enable-unsafe-swiftshader",
]
SHOTS = (
    ("page.png", "/plan", 1280, 860),
    ("page_parts.png", "", 1280, 860),
    ("page_balance.png", "/balance", 1280, 1400),
    ("page_narrow.png", "/beds", 360, 860),
    ("page_today.png", "/today?at=2026-12-01T20:00", 390, 1240),
)


def photograph_page(pictures: Path, program: str) -> list[str]:
    """Names of the pictures that were made."""
    from playwright.sync_api import sync_playwright

    with tempfile.TemporaryDirectory() as workspace:
        served = subprocess.Popen(
            [sys.executable, "-m", "planner", "page", "--no-open", "--port", "0", "--workspace", workspace],
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        try:
            line = served.stdout.readline() if served.stdout else ""
            told = re.search(r"http://\S+", line)
            if told is None:
                raise SystemExit("The page did not start.")
            with sync_playwright() as driver:
                browser = driver.chromium.launch(executable_path=program, args=ARGUMENTS)
                page = browser.new_page()
                kit = photograph_kit(page, told.group(0), pictures)
                return [kit, *_shots(page, told.group(0), pictures)]
        finally:
            served.terminate()
            served.communicate(timeout=30)


def _shots(page: Any, address: str, pictures: Path) -> list[str]:
    page.set_default_timeout(120_000)
    page.goto(address)
    page.wait_for_selector("body[data-ready]")
    page.set_input_files("#folder", str(ROOT / "demo_meshes"))
    page.wait_for_selector(".part")
    airframe = page.url
    page.goto(f"{airframe}/plan")
    page.fill("#start", "2026-12-01T18:00")
    page.click("#make-plan")
    page.wait_for_selector(".answer")
    for name, sheet, width, height in SHOTS:
        page.set_viewport_size({"width": width, "height": height})
        page.goto(f"{airframe}{sheet}")
        page.wait_for_selector(".answer, .bed, .step, figure.paper svg, .part .small:has-text(' g')")
        page.wait_for_load_state("networkidle")
        page.screenshot(path=str(pictures / name))
    return [name for name, *_ in SHOTS]
