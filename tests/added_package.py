"""A package beside this one that adds to one of its lists, for one test."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from planner.plug_ins import added, every

Install = Callable[[str, str, str, str], None]
"""Takes the list that is added to, a module's name and text, and its entry, as ``mine = module:ROWS``."""


def installer(site: Path, monkeypatch: pytest.MonkeyPatch) -> Install:
    """Writes packages into a folder and puts that on the path."""

    def install(group: str, module: str, text: str, entry: str) -> None:
        about = site / f"{module}-1.0.dist-info"
        about.mkdir(parents=True)
        (site / f"{module}.py").write_text(text, encoding="utf-8")
        (about / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {module}\nVersion: 1.0\n")
        (about / "entry_points.txt").write_text(f"[{group}]\n{entry}\n")
        monkeypatch.syspath_prepend(str(site))
        added.cache_clear()
        every.cache_clear()

    return install
