"""The notebooks of docs run, and what they keep is what cells gave."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
BOOKS = sorted((ROOT / "docs").glob("*.ipynb"))


def test_there_are_two_that_every_page_leads_to() -> None:
    """Both stand in the list of pages, and show something for every cell but imports."""
    index = (ROOT / "docs" / "index.md").read_text(encoding="utf-8")
    assert len(BOOKS) >= 2
    for path in BOOKS:
        assert f"\n{path.stem}\n" in index
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
        code = [cell for cell in cells if cell["cell_type"] == "code"]
        assert len(code) >= 5
        for cell in code:
            assert cell["outputs"] or "".join(cell["source"]) == "import planner"
            assert all(output["output_type"] != "error" for output in cell["outputs"])


@pytest.mark.slow
@pytest.mark.parametrize("path", BOOKS, ids=lambda path: path.stem)
def test_notebooks_run(path: Path) -> None:
    """From the first cell to the last, in a kernel of their own."""
    before = path.read_bytes()
    done = subprocess.run(
        [sys.executable, str(ROOT / "scripts" / "notebooks.py"), "--check", str(path)],
        capture_output=True,
        text=True,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert "cells ran" in done.stdout
    assert path.read_bytes() == before
