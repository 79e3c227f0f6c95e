"""The folder of kept deposits: what is deleted, and how often it is looked at."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from planner.estimate.cache_trim import MARK, trim, trim_now_and_then


def test_what_a_dead_process_left_half_written_goes(tmp_path: Path) -> None:
    """What a living one writes stays, and what nobody can be asked about, for a day."""
    (gone := subprocess.Popen([sys.executable, "-c", ""])).wait()
    names = {
        "dead": f"a.{gone.pid}.part",
        "own": f"b.{os.getpid()}.part",
        "odd": "odd.part",
        "old": "old.part",
    }
    for name in names.values():
        (tmp_path / name).write_bytes(b"half")
    os.utime(tmp_path / "old.part", (0, 0))
    (tmp_path / MARK).touch()  # it was trimmed a moment ago: they go all the same
    trim_now_and_then(tmp_path, 1000, 3600.0)
    left = {path.name for path in tmp_path.iterdir()} - {MARK}
    assert left == {names["own"], names["odd"]} | ({names["dead"]} if os.name == "nt" else set())


@pytest.mark.parametrize(("limit", "left"), [(2000, "abcde"), (1999, "abcd"), (1000, "ab"), (100, "")])
def test_the_latest_stay_within_the_limit(limit: int, left: str, tmp_path: Path) -> None:
    """Used longest ago goes first, until all is within the limit; files of others are none of ours."""
    for age, name in enumerate("abcde"):
        path = tmp_path / f"{name}{'.shape' if name in 'bd' else '.npz'}"
        path.write_bytes(b"x" * 400)
        os.utime(path, (10_000 - age, 10_000 - age))
    (tmp_path / "notes.txt").write_bytes(b"x" * 5000)
    trim(tmp_path, limit)
    assert "".join(sorted(path.stem for path in tmp_path.iterdir() if path.suffix != ".txt")) == left
    assert (tmp_path / "notes.txt").is_file()
    trim(tmp_path / "none", limit)


def test_it_is_looked_at_now_and_then(tmp_path: Path) -> None:
    """The first time, after the hour, and where the clock was set back; not in between."""
    for age, looked in ((None, True), (100.0, False), (3599.0, False), (3700.0, True), (-50.0, True)):
        (tmp_path / "some.npz").write_bytes(b"x" * 400)
        if age is not None:
            os.utime(tmp_path / MARK, (time.time() - age, time.time() - age))
        trim_now_and_then(tmp_path, 100, 3600.0)
        assert (tmp_path / "some.npz").exists() != looked, age
        assert abs((tmp_path / MARK).stat().st_mtime - time.time()) < 10.0 or not looked
    trim_now_and_then(tmp_path / "none", 100, 3600.0)
    assert not (tmp_path / "none").exists()
