"""What libraries have to say to those who write programs with them never reaches the terminal of a user."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

SAYS = """
import logging, os, subprocess, sys, warnings
from planner.cli import main

def app():
    warnings.warn("old way of doing it", DeprecationWarning)
    warnings.warn("numbers may be odd", RuntimeWarning)
    warnings.warn_explicit("from a library", UserWarning, "library.py", 3)
    logging.getLogger("library").warning("something is slow")
    logging.getLogger("library").error("something is odd")
    child = "import warnings; warnings.warn('of a child')"
    subprocess.run([sys.executable, "-c", child], check=True)
    main.say("done")

main.app = app
sys.argv = ["planner", "today"]
main.main()
"""


def heard(*options: str) -> tuple[str, str]:
    """Both streams of a command whose libraries warn."""
    clean = {name: value for name, value in os.environ.items() if name != "PYTHONWARNINGS"}
    done = subprocess.run(
        [sys.executable, *options, "-c", SAYS],
        env=clean,
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    return done.stdout.strip(), done.stderr.strip()


@pytest.mark.slow
def test_nobody_hears_a_library() -> None:
    """Neither warnings nor logs, of this process or of one that it starts."""
    assert heard() == ("done", "")


@pytest.mark.slow
def test_who_asks_for_warnings_hears_them() -> None:
    """As every program in Python does."""
    said, aside = heard("-W", "default")
    assert said == "done"
    assert "numbers may be odd" in aside
