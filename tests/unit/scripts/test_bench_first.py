"""Seconds of the first plan are those between lines that a real command prints."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "scripts"))
from bench_first import COMPILES, READY, between, on_a_terminal_s, timed_lines


def test_lines_have_their_moments(tmp_path: Path) -> None:
    """Half a second between two lines is told as half a second, also of a line to the other stream."""
    code = "import sys, time; print('one'); time.sleep(0.5); print('two', file=sys.stderr)"
    (first, one), (second, two) = timed_lines([sys.executable, "-c", code], tmp_path)
    assert (one, two) == ("one", "two")
    assert 0.45 < second - first < 5.0


def test_a_command_that_fails_is_no_measure(tmp_path: Path) -> None:
    """Its end is told with its last line; one that ends with findings counts."""
    with pytest.raises(SystemExit, match="ended with 3: so"):
        timed_lines([sys.executable, "-c", "print('so'); raise SystemExit(3)"], tmp_path)
    assert timed_lines([sys.executable, "-c", "raise SystemExit(1)"], tmp_path) == []


def test_between() -> None:
    """From the first start to the first end after it; a line that never comes is told."""
    lines = [(1.0, "b"), (2.0, "a 1"), (3.0, "a 2"), (7.5, "b"), (9.0, "b")]
    assert between(lines, "a", "b") == 5.5
    with pytest.raises(SystemExit, match="no line 'c'"):
        between(lines, "c", "b")


def test_the_lines_are_those_of_the_environment_script() -> None:
    """The bench reads words that another script prints."""
    text = (Path(__file__).resolve().parents[3] / "scripts" / "environment.py").read_text(encoding="utf-8")
    assert f'print("{COMPILES} ' in text
    assert f'print(f"{READY} ' in text


def test_what_more_is_set_counts_for_the_command_alone(tmp_path: Path) -> None:
    """So a plan can begin with nothing compiled."""
    code = "import os; print(os.environ['NUMBA_CACHE_DIR'])"
    ((_, said),) = timed_lines([sys.executable, "-c", code], tmp_path, NUMBA_CACHE_DIR="/elsewhere")
    assert said == "/elsewhere"


@pytest.mark.skipif(os.name == "nt", reason="a terminal of this kind is made on POSIX only")
def test_a_person_at_a_terminal_is_waited_for(tmp_path: Path) -> None:
    """Until the first word; what comes after it is not waited for."""
    code = "import sys, time; sys.stderr.isatty() and time.sleep(0.1); sys.stderr.write('so'); time.sleep(30)"
    assert 0.1 <= on_a_terminal_s([sys.executable, "-c", code], tmp_path) < 20.0
