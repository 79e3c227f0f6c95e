"""The command looks for circles of values seldom; the package leaves that to whoever imports it."""

from __future__ import annotations

import gc
import subprocess
import sys

from planner.cli.circles import VALUES, look_seldom


def test_seldom_but_not_never() -> None:
    before = gc.get_threshold()
    try:
        look_seldom()
        assert gc.isenabled()
        assert gc.get_threshold()[0] == VALUES > 10 * before[0]
    finally:
        gc.set_threshold(*before)


def test_importing_the_package_changes_nothing() -> None:
    words = "import gc; a = gc.get_threshold(); import planner; planner.plan; assert gc.get_threshold() == a"
    subprocess.run([sys.executable, "-c", words], check=True)
