"""Make the pictures of the README again: report and page of the demo as a browser shows them.

Needs a Chromium on the path (Debian: ``apt install chromium``); nothing is fetched.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from environment import ROOT, prepare
from picture_page import photograph_page

NAMES = ("chromium", "chromium-browser", "google-chrome")
PICTURES = ROOT / "scripts" / "pictures"
SIZES = {"report.png": (1280, 1400)}


def browser() -> str | None:
    """Path of a Chromium, if there is one."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


def photograph(page: Path, picture: Path, width: int, height: int, program: str) -> None:
    """Take a picture of a local page in a window of its own."""
    with tempfile.TemporaryDirectory() as profile:
        subprocess.run(
            [
                program,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-background-networking",
                "--hide-scrollbars",
                f"--user-data-dir={profile}",
                f"--window-size={width},{height}",
                f"--screenshot={picture}",
                page.resolve().as_uri(),
            ],
            check=True,
            capture_output=True,
            timeout=120,
        )


def main() -> int:
    """Photograph the report that ``scripts/demo.py`` made, then the page."""
    page = ROOT / "out" / "demo" / "report.html"
    program = browser()
    if program is None or not page.is_file():
        print("Run scripts/demo.py first, and install a Chromium.")
        return 1
    interpreter = prepare("test")  # it drives the browser from there
    if Path(sys.prefix) != interpreter.parents[1]:
        return subprocess.run([str(interpreter), __file__], check=False).returncode
    PICTURES.mkdir(exist_ok=True)
    for name, (width, height) in SIZES.items():
        photograph(page, PICTURES / name, width, height, program)
        print(f"wrote {(PICTURES / name).relative_to(ROOT)}")
    for name in photograph_page(PICTURES, program):
        print(f"wrote {(PICTURES / name).relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
